"""dryside unit install and remove, in a root of the test's own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.ui.command import Told

Run = Callable[..., Told]
SYSTEM = "etc/systemd/system"


@pytest.fixture
def rig(tmp_path: Path, dryside: Run) -> Path:
    _, text, _ = dryside("rig", "example")
    path = tmp_path / "my-rig.toml"
    path.write_text(text)
    return path


def files(root: Path) -> set[str]:
    return {
        str(path.relative_to(root))
        for path in root.rglob("*")
        if path.is_file() or path.is_symlink()
    }


def installed(dryside: Run, root: Path, rig: Path, *more: str) -> Told:
    words = ("--rig", str(rig), "--into", str(root), "--user", "daemon", "--yes")
    return dryside("unit", "install", *words, *more)


def test_remove_undoes_what_install_did_and_leaves_the_book(
    tmp_path: Path, dryside: Run, rig: Path
) -> None:
    """Every file that install wrote is gone; rig and book stay where they are."""
    root = tmp_path / "root"
    code, out, _ = installed(dryside, root, rig, "--watchdog")
    assert code == 0
    assert f"{SYSTEM}/dryside.service" in files(root)
    assert f"{SYSTEM}/multi-user.target.wants/dryside-screen.service" in files(root)
    for name in files(root):
        assert f"/{name}" in out  # nothing is written that was not shown
    (root / "var/lib/dryside/book.sqlite").write_text("the book")
    assert dryside("unit", "remove", "--into", str(root), "--yes")[0] == 0
    assert files(root) == {"var/lib/dryside/rig.toml", "var/lib/dryside/book.sqlite"}


def test_a_headless_install_takes_an_older_screen_away(
    tmp_path: Path, dryside: Run, rig: Path
) -> None:
    """Installing again leaves exactly what was asked for last."""
    root = tmp_path / "root"
    installed(dryside, root, rig)
    assert installed(dryside, root, rig, "--headless")[0] == 0
    assert not {name for name in files(root) if "screen" in name}
    assert f"{SYSTEM}/dryside.service" in files(root)


def test_another_rig_that_is_there_is_put_aside(tmp_path: Path, dryside: Run, rig: Path) -> None:
    """No rig file is lost by an install."""
    root = tmp_path / "root"
    installed(dryside, root, rig)
    before = rig.read_text()
    rig.write_text(before + "\n# changed\n")
    installed(dryside, root, rig)
    state = root / "var/lib/dryside"
    assert (state / "rig.toml.before").read_text() == before
    assert (state / "rig.toml").read_text() == rig.read_text()


def test_a_file_that_is_not_ours_is_left_alone(tmp_path: Path, dryside: Run, rig: Path) -> None:
    """Neither install nor remove touches somebody's own unit of that name."""
    root = tmp_path / "root"
    own = root / SYSTEM / "dryside.service"
    own.parent.mkdir(parents=True)
    own.write_text("[Service]\n")
    for told in (
        installed(dryside, root, rig),
        dryside("unit", "remove", "--into", str(root), "--yes"),
    ):
        assert told[0] == 2
        assert "was not written by" in told[2]
    assert files(root) == {f"{SYSTEM}/dryside.service"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--user", "root"), "not run as root"),
        (("--user", "nobody-of-that-name"), "no user nobody-of-that-name"),
        (("--user", "daemon"), "no rig was named"),
    ],
)
def test_what_cannot_be_installed_is_said_in_one_sentence(
    tmp_path: Path, dryside: Run, words: tuple[str, ...], said: str
) -> None:
    """Exit code 2, one line, and nothing written."""
    root = tmp_path / "root"
    code, _, err = dryside("unit", "install", "--into", str(root), "--yes", *words)
    assert code == 2
    assert said in err
    assert len(err.splitlines()) == 1
    assert not root.exists()


def test_unasked_nothing_is_done(tmp_path: Path, dryside: Run, rig: Path) -> None:
    """Without --yes, and with nobody to ask, it only shows what it would do, files included."""
    root = tmp_path / "root"
    code, out, _ = dryside(
        *("unit", "install", "--rig", str(rig), "--into", str(root), "--user", "daemon", "--show")
    )
    assert code == 2
    assert "WatchdogSec=20" in out
    assert not root.exists()
