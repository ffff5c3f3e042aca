"""What sheets have had, as it is kept over a restart of the unit."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from controller.enlarger.lamp import ns
from controller.room.budget import Account, Where


class Kept(msgspec.Struct, frozen=True):
    """A sheet as it is kept over a restart; ``used`` and the like as in ``budget.Account``."""

    mark: str
    where: str
    used: float
    unknown_ns: int = 0
    unsafe: bool = False
    record_id: str = ""


class Left(msgspec.Struct, frozen=True):
    """What is kept over a restart, and when by the wall clock, in seconds."""

    wall_s: float
    sheets: tuple[Kept, ...] = ()
    version: int = 1


def left_of(accounts: Mapping[str, Account], records: Mapping[str, str], wall_s: float) -> Left:
    """Give what is to be kept: every sheet that is not in the stop bath yet."""
    kept = (
        Kept(mark, one.where.name, one.used, one.unknown_ns, one.unsafe, records.get(mark, ""))
        for mark, one in accounts.items()
        if one.where is not Where.STOP
    )
    return Left(wall_s, tuple(kept))


def accounts_of(left: Left, wall_s: float, *, forgotten_s: float) -> dict[str, Account]:
    """Take up what was left; what lay out meanwhile lay under nobody knows which light.

    Paper that lay out for longer than ``forgotten_s`` has been developed, or is lost.
    """
    away_ns = ns(max(0.0, wall_s - left.wall_s))
    found = {}
    for kept in left.sheets:
        where = Where[kept.where]
        if where.place and away_ns > ns(forgotten_s):
            continue
        out_ns = away_ns if where.place else 0
        found[kept.mark] = Account(where, kept.used, kept.unknown_ns + out_ns, unsafe=kept.unsafe)
    return found
