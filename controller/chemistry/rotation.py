"""Two fixing baths: the first does the work, and the second takes its place.

By count, since the clearing time of paper is hard to see (seen in a paper on two-bath fixing).
After 4 to 5 promotions or a week both are replaced (from memory; the cautious end is taken).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum

from controller.chemistry.freshness import State, Status, state_of

MOST_PROMOTIONS = 4
LONGEST_SET = timedelta(days=7)


class Move(Enum):
    """What to do with the two baths."""

    KEEP = "keep"
    PROMOTE = "second becomes first"
    REPLACE_BOTH = "replace both"


@dataclass(frozen=True, slots=True)
class Rotation:
    """What to do, and why in words. ``is_early``: to rotate now would waste the first bath."""

    move: Move
    why: str
    is_early: bool = False


def advise(first: Status, second: Status | None, now: datetime) -> Rotation:
    """Say what to do with a set of two baths."""
    if second is None:
        return Rotation(Move.REPLACE_BOTH, "there is no second bath that could take its place")
    since = min(second.bath.set_since or second.bath.made_at, first.bath.made_at)
    days = (now - since).total_seconds() / 86400
    if now - since >= LONGEST_SET:
        return Rotation(Move.REPLACE_BOTH, f"the set is {days:.1f} days old; a week is the most")
    used_up = state_of(first.capacity_share) is State.OVER
    if used_up and second.promotions >= MOST_PROMOTIONS:
        return Rotation(
            Move.REPLACE_BOTH,
            f"the second bath has taken the first one's place {second.promotions} times in this "
            "set, which is enough",
        )
    if used_up:
        return Rotation(Move.PROMOTE, "the first bath has fixed all that it can")
    if first.state is State.OVER or second.state is State.OVER:
        return Rotation(Move.REPLACE_BOTH, "one of the two is too old")
    share = first.capacity_share
    if share is None:
        return Rotation(Move.KEEP, "no capacity is known for the first bath: count by hand")
    is_early = state_of(share) is State.FRESH
    return Rotation(Move.KEEP, f"the first bath has taken {share:.0%} of what it can", is_early)
