"""``./start`` and ``./check`` make their environment once, and again when it is out of date.

The scripts run as they are, with a Python that only pretends: it notes what it is asked to do.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent
PRETENDER = """#!/usr/bin/env bash
case "$*" in
    *realpath*) readlink -f "$0" ;;
    *platform*) echo "${PRETEND_VERSION:-3.11.2}" ;;
    *"import ensurepip"*) [ -z "${PRETEND_BARE-}" ] ;;
    *version_info*"(3, 11)"*) [ "${PRETEND_VERSION:-3.11.2}" != 3.9.2 ] ;;
    *"-m venv"*)
        mkdir -p "${!#}/bin"
        cp "$0" "${!#}/bin/python"
        printf '%s\\n' '#!/usr/bin/env bash' 'pwd' 'printf "<%s>" "$@"' >"${!#}/bin/dryside"
        chmod +x "${!#}/bin/dryside"
        echo venv >>"$NOTES" ;;
    *"-m pip install"*)
        echo "pip ${!#}" >>"$NOTES"
        echo "${PRETEND_PIP:-fine}"
        [ -z "${PRETEND_KILL-}" ] || kill -9 $PPID $$
        [ -z "${PRETEND_PIP-}" ] ;;
esac
"""


class House:
    """A copy of the scripts in a folder with a space, and what they made the Python do."""

    def __init__(self, tmp_path: Path) -> None:
        self.root = tmp_path / "a house"
        self.root.mkdir()
        for name in ("start", "environment.sh", "pyproject.toml", "constraints.txt"):
            shutil.copy(HOUSE / name, self.root)
        self.bin = tmp_path / "bin"
        self.bin.mkdir()
        python = self.bin / "python3"
        python.write_text(PRETENDER)
        python.chmod(0o755)
        uname = self.bin / "uname"  # on a Pi more would be installed
        uname.write_text("#!/bin/sh\necho x86_64\n")
        uname.chmod(0o755)
        for name in ("python3.11", "python3.12", "python3.13"):
            absent = self.bin / name
            absent.write_text("#!/bin/sh\nexit 127\n")
            absent.chmod(0o755)
        self.notes = tmp_path / "notes"
        self.elsewhere = tmp_path / "elsewhere"
        self.elsewhere.mkdir()

    def start(self, *args: str, **env: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [self.root / "start", *args],
            cwd=self.elsewhere,
            env={"PATH": f"{self.bin}:/usr/bin:/bin", "NOTES": str(self.notes), **env},
            capture_output=True,
            text=True,
        )

    def did(self) -> list[str]:
        """Give what the Python was made to do since the last time."""
        did = self.notes.read_text().splitlines() if self.notes.exists() else []
        self.notes.unlink(missing_ok=True)
        return did


@pytest.fixture
def house(tmp_path: Path) -> House:
    return House(tmp_path)


def test_the_first_start_makes_the_environment_and_passes_everything_on(house: House) -> None:
    """One progress line on stderr; the program gets its arguments and the caller's folder."""
    run = house.start("strip", "--base", "a b", "")
    assert run.stdout == f"{house.elsewhere}\n<strip><--base><a b><>"
    assert len(run.stderr.splitlines()) == 1
    assert house.did() == ["venv", "pip ."]


def test_on_a_pi_pins_and_sound_are_installed_too(house: House) -> None:
    """There the unit drives real lines, and a talking book is played by it."""
    script = (
        f"here='{house.root}'; . '{house.root}/environment.sh'; on_a_pi() {{ true; }}; "
        f"find_python() {{ echo '{house.bin}/python3'; }}; make_environment"
    )
    subprocess.run(
        ["bash", "-euc", script],
        env={"PATH": f"{house.bin}:/usr/bin:/bin", "NOTES": str(house.notes)},
        check=True,
        capture_output=True,
    )
    assert house.did()[-1] == "pip .[pi,sound]"


def test_the_second_start_does_nothing_first(house: House) -> None:
    """Where all is there, nothing is made and nothing is said."""
    house.start()
    house.did()
    assert house.start().stderr == ""
    assert house.did() == []


@pytest.mark.parametrize("name", ["pyproject.toml", "constraints.txt"])
def test_a_change_of_what_is_needed_installs_again(house: House, name: str) -> None:
    """When pyproject.toml or constraints.txt changes, the environment is updated in place."""
    house.start()
    house.did()
    with (house.root / name).open("a") as file:
        file.write("# changed\n")
    house.start()
    assert house.did() == ["pip ."]
    house.start()
    assert house.did() == []


def test_an_environment_that_was_cut_off_is_made_anew(house: House) -> None:
    """When the installing is killed in the middle, the next start begins from nothing."""
    assert house.start(PRETEND_KILL="1").returncode != 0
    house.did()
    assert house.start().returncode == 0
    assert house.did() == ["venv", "pip ."]


def test_an_update_that_was_cut_off_is_made_anew(house: House) -> None:
    """A half-made update is not trusted either."""
    house.start()
    (house.root / "constraints.txt").write_text("# changed\n")
    house.start(PRETEND_KILL="1")
    house.did()
    house.start()
    assert house.did() == ["venv", "pip ."]


def test_a_house_that_moved_makes_its_environment_anew(house: House) -> None:
    """An environment knows its own path, so it does not survive a move."""
    house.start()
    house.did()
    house.root = house.root.rename(house.root.with_name("another house"))
    assert house.start().returncode == 0
    assert house.did() == ["venv", "pip ."]


def test_without_a_network_one_sentence_says_so(house: House) -> None:
    """When pip finds no network, the log is named, and the next start tries again."""
    run = house.start(PRETEND_PIP="NewConnectionError: name resolution")
    assert run.returncode == 1
    assert "is this machine on the network?" in run.stderr
    assert str(house.root / ".venv" / "install.log") in run.stderr
    assert house.start().returncode == 0


def test_a_python_without_venv_names_the_package(house: House) -> None:
    """Where Python cannot make environments, the missing package is named."""
    run = house.start(PRETEND_BARE="1")
    assert run.returncode == 1
    assert "sudo apt install python3-venv" in run.stderr


def test_an_old_python_is_told_from_none(house: House) -> None:
    """The version that was found, and the one that is needed, are both said."""
    run = house.start(PRETEND_VERSION="3.9.2")
    assert run.returncode == 1
    assert "needs Python 3.11 or newer, and this machine has 3.9.2" in run.stderr


def test_shared_by_a_link(house: House, tmp_path: Path) -> None:
    """Called by a symbolic link, the script still finds its house."""
    link = tmp_path / "dryside"
    link.symlink_to(house.root / "start")
    run = subprocess.run(
        [link, "x"],
        cwd=house.elsewhere,
        env={"PATH": f"{house.bin}:/usr/bin:/bin", "NOTES": str(house.notes)},
        capture_output=True,
        text=True,
    )
    assert run.stdout.endswith("<x>")
