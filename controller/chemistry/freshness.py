"""How much of a bath is used up: by its age, and by the paper that went through it.

Pure over entries. Hours in each place are shares of the life in that place, and add up; so do
square metres of each base (both common practice, no source). The larger of the two counts. Figures
are advice: a bath is judged by its prints, and by the tests its maker names.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Bath, Entry, Place, Role, What

WARN_AT = 0.8
_HOUR_S = 3600.0


class State(Enum):
    """Where a bath stands."""

    FRESH = "fresh"
    LOW = "nearly used up"
    OVER = "used up"
    UNKNOWN = "not known"  # no figures were given for it


@dataclass(frozen=True, slots=True)
class Status:
    """A bath at one time. Shares are parts of one; None where no figure tells."""

    bath: Bath
    tray: str
    place: Place
    role: Role
    age_h: float
    life_share: float | None
    capacity_share: float | None
    area_m2: float
    sheets: int
    promotions: int
    discarded: bool
    clock_behind: bool  # the wall clock is before the mixing: the age is not known

    @property
    def share(self) -> float | None:
        """Give the part that is used up."""
        known = [each for each in (self.life_share, self.capacity_share) if each is not None]
        return max(known, default=None)

    @property
    def state(self) -> State:
        """Tell where it stands."""
        return state_of(self.share)

    @property
    def by_age(self) -> bool:
        """Tell whether its age, and not the paper, has used up more of it."""
        return (self.life_share or 0) >= (self.capacity_share or 0)


def state_of(share: float | None) -> State:
    """Turn a share into words; a rounding error does not hide a full bath."""
    if share is None:
        return State.UNKNOWN
    if share >= 1 - 1e-9:
        return State.OVER
    return State.LOW if share >= WARN_AT - 1e-9 else State.FRESH


def status(bath: Bath, entries: Sequence[Entry], now: datetime) -> Status:
    """Say where a bath stands ``now``; ``entries`` are its own, the oldest first."""
    tray, place, role, promotions = bath.tray, bath.place, bath.role, bath.promotions
    stays: list[tuple[Place, datetime]] = [(place, bath.made_at)]
    end: datetime | None = None
    sheets: list[Entry] = []
    for entry in entries:
        if entry.what is What.SHEET:
            sheets.append(entry)
        elif entry.what is What.MOVED and entry.place is not None:
            stays.append((entry.place, entry.at))
            place = entry.place
        elif entry.what is What.PROMOTED:
            # what it took while it was the second had left the first nearly fixed
            role, tray, promotions, sheets = Role.FIRST, entry.tray, promotions + 1, []
        elif entry.what is What.DISCARDED:
            end = entry.at
    until = end or now
    return Status(
        bath=bath,
        tray=tray,
        place=place,
        role=role,
        age_h=max(0.0, (until - bath.made_at).total_seconds() / _HOUR_S),
        life_share=_life_share(bath, stays, until),
        capacity_share=None if role is Role.SECOND else _capacity_share(bath, sheets),
        area_m2=sum(entry.area_m2 for entry in sheets),
        sheets=len(sheets),
        promotions=promotions,
        discarded=end is not None,
        clock_behind=until < bath.made_at,
    )


def _life_share(bath: Bath, stays: list[tuple[Place, datetime]], until: datetime) -> float | None:
    ends = [at for _, at in stays[1:]] + [until]
    shares = []
    for (place, since), to in zip(stays, ends, strict=True):
        life_h = bath.figures.life_h(place)
        if life_h is not None:
            shares.append(max(0.0, (to - since).total_seconds() / _HOUR_S) / life_h)
    return sum(shares) if shares else None


def _capacity_share(bath: Bath, sheets: Sequence[Entry]) -> float | None:
    if all(bath.figures.m2_per_l(base) is None for base in Base):
        return None
    return sum(used_by(bath, entry.area_m2, entry.base or Base.FIBRE) or 0.0 for entry in sheets)


def used_by(bath: Bath, area_m2: float, base: Base) -> float | None:
    """Give the part of a bath that an area takes; None where no capacity is known.

    A base without a figure counts as fibre, the more demanding one, where that has one.
    """
    per_l = bath.figures.m2_per_l(base) or bath.figures.fibre_m2_per_l
    return None if per_l is None else area_m2 / (per_l * bath.volume_ml / 1000)


def sheets_left(found: Status, area_m2: float, base: Base) -> int | None:
    """Give how many more sheets a bath takes by its capacity; None where none is known."""
    one = used_by(found.bath, area_m2, base)
    if one is None or found.capacity_share is None:
        return None
    return max(0, int((1 - found.capacity_share) / one + 1e-9))


def hours_left(found: Status) -> float | None:
    """Give how many hours are left where it stands now; None where its life is not known."""
    life_h = found.bath.figures.life_h(found.place)
    if life_h is None or found.life_share is None:
        return None
    return max(0.0, (1 - found.life_share) * life_h)


def eights(area_m2: float) -> float:
    """Give an area in sheets of 8x10 in."""
    return area_m2 / EIGHT_BY_TEN_M2
