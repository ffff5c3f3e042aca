"""A bath and what happened to it, as the book keeps it: data only."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum

from controller.chemistry.cautions import Kind

EIGHT_BY_TEN_M2 = 8 * 10 * 0.0254**2  # 80 square inches, 0.0516 m2; an inch is 25.4 mm


class Base(Enum):
    """What paper is coated on: fibre paper carries more liquid from tray to tray."""

    FIBRE = "fibre"
    RESIN_COATED = "resin-coated"


class Place(Enum):
    """Where a bath is kept; air ages it."""

    TRAY = "tray"
    FULL = "full bottle"
    HALF = "half bottle"


class Role(Enum):
    """What a bath is in a fix of two baths."""

    ALONE = "alone"
    FIRST = "first"
    SECOND = "second"


class What(Enum):
    """What happened to a bath."""

    SHEET = "sheet"
    MOVED = "moved"
    PROMOTED = "promoted"  # the second became the first
    DISCARDED = "discarded"


@dataclass(frozen=True, slots=True)
class Figures:
    """What a bath lasts: hours by place, square metres per litre by base; None: not known.

    They are kept with the bath as they were when it was mixed.
    """

    fibre_m2_per_l: float | None = None
    resin_coated_m2_per_l: float | None = None
    in_tray_h: float | None = None
    full_bottle_h: float | None = None
    half_bottle_h: float | None = None

    def m2_per_l(self, base: Base) -> float | None:
        """Give the capacity for paper on a base."""
        return self.fibre_m2_per_l if base is Base.FIBRE else self.resin_coated_m2_per_l

    def thinner(self, share: float) -> Figures:
        """Give the figures of a bath that takes only a share of the paper."""

        def of(area_m2: float | None) -> float | None:
            return None if area_m2 is None else area_m2 * share

        return replace(
            self,
            fibre_m2_per_l=of(self.fibre_m2_per_l),
            resin_coated_m2_per_l=of(self.resin_coated_m2_per_l),
        )

    def life_h(self, place: Place) -> float | None:
        """Give the life in a place."""
        return {
            Place.TRAY: self.in_tray_h,
            Place.FULL: self.full_bottle_h,
            Place.HALF: self.half_bottle_h,
        }[place]


@dataclass(frozen=True, slots=True)
class Bath:
    """A bath as it was mixed.

    ``tray`` is the name of the tray it is for, which a process's steps name as well.
    ``promotions`` and ``set_since`` are those of the set of two when it was mixed.
    """

    bath_id: int  # 0: not kept yet
    tray: str
    product: str
    kind: Kind
    dilution: str
    volume_ml: float
    figures: Figures
    place: Place
    made_at: datetime
    role: Role = Role.ALONE
    promotions: int = 0
    set_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that happened to a bath."""

    what: What
    at: datetime
    area_m2: float = 0.0
    base: Base | None = None
    mark: str = ""
    place: Place | None = None  # where it was moved to
    tray: str = ""  # whose bath it became
