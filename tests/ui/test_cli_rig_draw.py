"""``dryside rig draw``: what it leaves, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from controller.rig.file import example_rig
from tests.ui.command import Told


def test_a_rig_file_becomes_a_folder_to_build_from(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Diagram, pins, parts and the order of bring-up, and a word on who touches mains."""
    (tmp_path / "mine.toml").write_text(example_rig())
    code, out, _ = dryside("rig", "draw", "--rig", "mine.toml", "--out", "wiring")
    assert code == 0
    made = {path.name for path in (tmp_path / "wiring").iterdir()}
    assert made == {"wiring.svg", "pins.md", "parts.md", "bring-up.md"}
    assert (tmp_path / "wiring/wiring.svg").read_text().startswith("<svg")
    assert "licensed electrician" in out


def test_an_imagined_rig_and_no_rig_at_all_are_refused(dryside: Callable[..., Told]) -> None:
    """One sentence, exit code 2, and what would be right."""
    for words in (("--rig", "led"), ()):
        code, _, err = dryside("rig", "draw", *words, "--out", "wiring")
        assert code == 2
        assert "no wires" in err
        assert "right would be" in err
    assert not Path("wiring").exists()


def test_a_folder_that_cannot_be_written_is_told(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "mine.toml").write_text(example_rig())
    (tmp_path / "taken").write_text("")
    code, _, err = dryside("rig", "draw", "--rig", "mine.toml", "--out", "taken")
    assert code == 2
    assert err.startswith("--out: taken")
