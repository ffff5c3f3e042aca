"""``dryside unit install`` and ``remove``: the unit that starts by itself."""

from __future__ import annotations

import os
import pwd
import sys
from collections.abc import Sequence
from pathlib import Path

from controller.errors import BadInput
from controller.rig.file import load_rig
from drivers.looking.machine import watchdogs
from drivers.service.people import HERE, People, Person, of_machine, of_root
from drivers.service.steps import (
    Step,
    Write,
    below,
    carry_on,
    carry_out,
    to_install,
    to_remove,
)
from drivers.service.units import GROUPS, HOME, PALETTE, Service
from ui import show

ROOT = Path("/")


def install(
    rig: Path | None,
    user: str | None,
    *,
    headless: bool,
    watchdog: bool,
    into: Path | None,
    show_: bool,
    yes: bool,
) -> None:
    """Show what is going to be done, ask, and do it."""
    root = into or ROOT
    image = into is not None
    people = (of_root(root) if image else None) or of_machine()
    person = _who(user, people)
    name = person.name
    here = Path(HOME) / "rig.toml"
    source = rig.absolute() if rig else None
    _check_rig(source, below(root, here))
    if watchdog and not image and not watchdogs():
        raise BadInput(
            "this machine has no watchdog chip that is switched on",
            "unit install --watchdog",
            "dtparam=watchdog=on in config.txt and a restart, or no --watchdog",
        )
    if not image and Path(sys.executable).resolve().is_relative_to("/root"):
        raise BadInput(
            f"this program runs by {Path(sys.executable).resolve()}, where {name} may not go",
            "unit install",
            f"Dryside, and its Python, in a folder that {name} can read",
        )
    service = Service(
        program=_program_in(root),
        rig=str(here),
        user=name,
        group=people.group_of(person),
        groups=tuple(each for each in GROUPS if each in people.groups),
        screen=not headless,
        chip_watchdog=watchdog,
    )
    steps = to_install(service, (person.uid, person.gid), source, root, image=image)
    _settle(steps, root, show_=show_, yes=yes, image=image)
    carry_out(steps, root)
    if image:
        _tell_of_image(root, service, people)
    print(f"Installed. Its book, rig and scores are in {HOME}; commands of {name} use them too.")
    if not headless:
        print(
            "Red text from the first line on: add this to the one line of cmdline.txt, then "
            f"restart:\n{PALETTE}"
        )
    if not image:
        print("See it with: systemctl status dryside; journalctl -u dryside -f")


def remove(*, into: Path | None, yes: bool) -> None:
    """Take away what install wrote; the book and the rig stay."""
    root = into or ROOT
    steps = to_remove(root, image=into is not None)
    if not steps:
        print("nothing is installed")
        return
    _settle(steps, root, show_=False, yes=yes, image=into is not None)
    failed = carry_on(steps, root)
    if failed:
        show.lines(failed)
        print(
            "The rest was removed. What may still run ends with the next restart; until then see "
            "that the lamp's switch is off."
        )
        sys.exit(1)
    print(f"Removed. The book, the rig and the scores are still in {below(root, Path(HOME))}.")


def _settle(steps: Sequence[Step], root: Path, *, show_: bool, yes: bool, image: bool) -> None:
    print(f"This is going to be done{f' below {root}' if image else ''}:")
    for step in steps:
        print(f"  {step}")
        if show_ and isinstance(step, Write):
            show.lines(f"    | {line}" for line in step.text.splitlines())
    if not image and os.geteuid() != 0:
        raise BadInput(
            "this needs the right to change the system",
            "unit install and remove",
            f"sudo {' '.join(_program())} unit ..., or --into FOLDER to write the files elsewhere",
        )
    if not yes and not _agreed():
        print("nothing was done")
        sys.exit(1)


def _agreed() -> bool:
    if not sys.stdin.isatty():
        raise BadInput("nobody can be asked here", "unit install and remove", "--yes")
    return input("do it? [y/N] ").strip().lower() in ("y", "yes")


def _who(user: str | None, people: People) -> Person:
    name = user or os.environ.get("SUDO_USER") or pwd.getpwuid(os.geteuid()).pw_name
    found = people.users.get(name)
    if found is None:
        raise BadInput(
            f"there is no user {name} in {people.where}", "--user", "the name of one that is there"
        )
    if found.uid == 0:
        raise BadInput(
            "a unit needs no root and is not run as root",
            "--user",
            "--user NAME, the user who works in the darkroom",
        )
    return found


def _tell_of_image(root: Path, service: Service, people: People) -> None:
    if people.where == HERE:
        show.note(f"{root} has no list of users, so they are those of this machine")
    if not below(root, Path(service.program[0])).exists():
        show.note(f"{root} has no {service.program[0]}: Dryside is to be there in the image")


def _check_rig(source: Path | None, there: Path) -> None:
    if source is None and not there.exists():
        raise BadInput(
            f"no rig was named, and {there} is not there",
            "unit install",
            "--rig FILE (dryside rig example > rig.toml gives one to begin with)",
        )
    if load_rig(str(source or there), []).imagined:
        show.note("this rig is an imagined one: the unit will light nothing real")


def _program_in(root: Path) -> tuple[str, ...]:
    """Give the same as the machine that has this root sees it; elsewhere as it is here."""
    words = _program()
    here = root.resolve()
    if here != ROOT and Path(words[0]).is_relative_to(here):
        return (f"/{Path(words[0]).relative_to(here)}", *words[1:])
    return words


def _program() -> tuple[str, ...]:
    """Give the words that run this very program, whoever runs them."""
    beside = Path(sys.executable).with_name("dryside")
    return (str(beside),) if beside.exists() else (sys.executable, "-P", "-m", "ui.start")
