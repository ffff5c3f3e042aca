"""What a user of the terminal likes: read, kept, and told where it is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from ui.terminal.preferences import Preferences


def test_what_was_kept_is_read_again_and_the_rest_is_left_alone(tmp_path: Path) -> None:
    """Brightness is written back; comments and keys stay."""
    (tmp_path / "terminal.toml").write_text('# mine\n[keys]\n"bench.strip" = "z"\n')
    made = Preferences.read(tmp_path)
    assert made.keys == {"bench.strip": "z"}
    made.brightness = 1
    made.keep()
    again = Preferences.read(tmp_path)
    assert (again.brightness, again.keys, again.notice) == (1, {"bench.strip": "z"}, "")
    assert "# mine" in (tmp_path / "terminal.toml").read_text()


@pytest.mark.parametrize(
    "text", ["brightness = 9", 'brightness = "bright"', "backlight_off = 3", "not toml"]
)
def test_what_is_wrong_is_one_sentence_and_changes_nothing(text: str, tmp_path: Path) -> None:
    """A bad preference is told with its file, and the terminal opens all the same."""
    (tmp_path / "terminal.toml").write_text(text)
    made = Preferences.read(tmp_path)
    assert "terminal.toml" in made.notice
    assert "\n" not in made.notice
    assert (made.brightness, made.backlight_off) == (2, False)


def test_no_file_is_no_fault(tmp_path: Path) -> None:
    """Without a file there are the usual preferences."""
    assert Preferences.read(tmp_path).notice == ""
