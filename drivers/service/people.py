"""Users and groups of a machine, or of the root of an image: who the unit may be.

Sources: passwd(5), group(5).
"""

from __future__ import annotations

import grp
import pwd
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

PASSWD = Path("etc/passwd")
GROUP = Path("etc/group")
HERE = "this machine"


@dataclass(frozen=True, slots=True)
class Person:
    """A user, with the group that is theirs from the start."""

    name: str
    uid: int
    gid: int


@dataclass(frozen=True, slots=True)
class People:
    """Who there is, by name; ``where`` tells a person which list was read."""

    users: Mapping[str, Person]
    groups: Mapping[str, int]
    where: str = HERE

    def group_of(self, person: Person) -> str:
        """Name the group of a user; its number where nothing names it, which serves as well."""
        return next(
            (name for name, gid in self.groups.items() if gid == person.gid), f"{person.gid}"
        )


def of_machine() -> People:
    """Give who this machine knows, from wherever it knows them."""
    return People(
        {each.pw_name: Person(each.pw_name, each.pw_uid, each.pw_gid) for each in pwd.getpwall()},
        {each.gr_name: each.gr_gid for each in grp.getgrall()},
    )


def of_root(root: Path) -> People | None:
    """Give who the system below ``root`` knows; None where it has no list. Raises OSError."""
    if not (root / PASSWD).exists():
        return None
    groups = root / GROUP
    return parsed(
        (root / PASSWD).read_text(encoding="utf-8", errors="replace"),
        groups.read_text(encoding="utf-8", errors="replace") if groups.exists() else "",
        str(root / PASSWD),
    )


def parsed(passwd: str, group: str, where: str) -> People:
    """Read the two lists; a line that is none is passed over, as the system does."""
    users: dict[str, Person] = {}
    for line in passwd.splitlines():
        match line.split(":"):
            case [name, _, uid, gid, *_] if uid.isdecimal() and gid.isdecimal():
                users.setdefault(name, Person(name, int(uid), int(gid)))
    groups: dict[str, int] = {}
    for line in group.splitlines():
        match line.split(":"):
            case [name, _, gid, *_] if gid.isdecimal():
                groups.setdefault(name, int(gid))
    return People(users, groups, where)
