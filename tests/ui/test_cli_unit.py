"""dryside unit install and remove, in a root of the test's own."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.ui.command import Told
from ui.commands import unit_service

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


@pytest.fixture
def image(tmp_path: Path) -> Path:
    """A root with users and groups of its own, none of which this machine has."""
    root = tmp_path / "image"
    (root / "etc").mkdir(parents=True)
    (root / "etc/passwd").write_text(
        "root:x:0:0:root:/root:/bin/sh\n"
        "far-printer:x:4711:4712:,,,:/home/far-printer:/bin/sh\n"
        "nameless-group:x:4713:4799::/:/bin/sh\n"
    )
    (root / "etc/group").write_text("root:x:0:\nfar-group:x:4712:\ngpio:x:997:far-printer\n")
    return root


def into(dryside: Run, root: Path, rig: Path, user: str) -> Told:
    words = ("--rig", str(rig), "--into", str(root), "--user", user, "--yes")
    return dryside("unit", "install", *words)


def test_users_and_groups_are_those_of_the_image(dryside: Run, image: Path, rig: Path) -> None:
    """A user that only the image has is taken from there, with its groups, and owns its folder."""
    code, _, err = into(dryside, image, rig, "far-printer")
    assert code == 0, err
    text = (image / SYSTEM / "dryside.service").read_text()
    assert "User=far-printer\nGroup=far-group\nSupplementaryGroups=gpio\n" in text
    if os.geteuid() == 0:
        for path in ("var/lib/dryside", "var/lib/dryside/rig.toml"):
            assert ((image / path).stat().st_uid, (image / path).stat().st_gid) == (4711, 4712)
    assert "Dryside is to be there in the image" in err


def test_a_group_without_a_name_is_its_number(dryside: Run, image: Path, rig: Path) -> None:
    """No traceback for a user whose group nobody has named."""
    assert into(dryside, image, rig, "nameless-group")[0] == 0
    assert "Group=4799\n" in (image / SYSTEM / "dryside.service").read_text()


def test_a_user_of_this_machine_is_none_of_the_image(dryside: Run, image: Path, rig: Path) -> None:
    """The sentence names the list that was read; nothing is written."""
    code, _, err = into(dryside, image, rig, "daemon")
    assert code == 2
    assert f"no user daemon in {image}/etc/passwd" in err
    assert not (image / "var").exists()


def test_a_removal_that_fails_somewhere_goes_on(
    tmp_path: Path, dryside: Run, rig: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A service manager that refuses everything leaves no file behind, and each refusal is told."""
    root = tmp_path / "root"
    installed(dryside, root, rig)
    refuses = tmp_path / "bin/systemctl"
    refuses.parent.mkdir()
    refuses.write_text('#!/bin/sh\necho "no bus for $*" >&2\nexit 1\n')
    refuses.chmod(0o755)
    monkeypatch.setenv("PATH", f"{refuses.parent}:{os.environ['PATH']}")
    monkeypatch.setattr(unit_service, "ROOT", root)  # as if this were the machine's own root
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    code, out, _ = dryside("unit", "remove", "--yes")
    assert code == 1
    assert files(root) == {"var/lib/dryside/rig.toml"}
    for unit in ("dryside-screen.service", "dryside.service"):
        assert f"disable --now {unit}: no bus for disable --now {unit}" in out
    assert "daemon-reload: no bus" in out


def test_a_link_that_outlived_its_unit_is_removed(tmp_path: Path, dryside: Run, rig: Path) -> None:
    """Half a removal can be finished by another."""
    root = tmp_path / "root"
    installed(dryside, root, rig)
    (root / SYSTEM / "dryside.service").unlink()
    assert dryside("unit", "remove", "--into", str(root), "--yes")[0] == 0
    assert files(root) == {"var/lib/dryside/rig.toml"}
