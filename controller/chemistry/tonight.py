"""Is what stands in the trays enough for tonight's edition, and how much is to be mixed if not?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from controller.chemistry.amounts import litres, ml
from controller.chemistry.bath import Base, Place, Role
from controller.chemistry.dilution import Mix, dilution_of, mix
from controller.chemistry.freshness import State, Status, hours_left, sheets_left, used_by
from controller.chemistry.words import litres_of, span


@dataclass(frozen=True, slots=True)
class Edition:
    """What is to be printed: how many sheets, how large, on what, and how long it takes."""

    sheets: int
    area_m2: float
    base: Base
    hours: float = 0.0


@dataclass(frozen=True, slots=True)
class Need:
    """What one bath means for the edition. None: no figure tells."""

    status: Status
    takes: int | None  # more sheets of the edition that it takes
    lasts_h: float | None
    fresh_baths: int  # of its own volume, to be mixed besides or instead
    more: Mix | None  # what those come to

    @property
    def enough(self) -> bool:
        """Tell whether the bath that stands there is enough."""
        return not self.fresh_baths


def need(found: Status, edition: Edition) -> Need:
    """Work out what a bath means for an edition.

    One that is too old, or will be before the edition is done, takes nothing more.
    """
    takes = sheets_left(found, edition.area_m2, edition.base)
    lasts_h = hours_left(found)
    too_old = found.life_share is not None and (
        found.life_share >= 1 or (lasts_h is not None and lasts_h < edition.hours)
    )
    one = used_by(found.bath, edition.area_m2, edition.base)
    missing = edition.sheets if too_old else max(0, edition.sheets - (takes or 0))
    if one is None or takes is None:
        fresh = 1 if too_old else 0
    else:
        each = int(1 / one + 1e-9)
        # where one sheet is more than a whole bath takes, each has a bath of its own
        fresh = math.ceil(missing / max(1, each))
        fresh = max(fresh, 1 if too_old else 0)
    return Need(found, takes, lasts_h, fresh, _more(found, fresh) if fresh else None)


def _more(found: Status, fresh: int) -> Mix:
    dilution = dilution_of(found.bath.dilution, "the bath's dilution")
    return mix(dilution, Fraction(found.bath.volume_ml) * fresh)


def needs(standing: list[Status], edition: Edition) -> list[Need]:
    """Work out what every bath in a tray means; a second fixing bath follows the first."""
    return [
        need(each, edition)
        for each in standing
        if each.place is Place.TRAY and each.role is not Role.SECOND
    ]


def need_lines(found: Need) -> list[str]:
    """Say it for a person."""
    at = found.status
    if found.enough:
        if found.takes is not None:
            return [f"{at.tray}: enough, it takes {found.takes} of these"]
        known = at.state is not State.UNKNOWN
        return [f"{at.tray}: " + ("enough by its age" if known else "no figures tell")]
    if found.lasts_h is not None and found.lasts_h <= 0:
        why = "too old"
    elif found.takes is None:
        why = f"good for {span(found.lasts_h or 0)} more only"
    elif found.lasts_h is not None and at.by_age:
        why = f"takes {found.takes} of these, and is good for {span(found.lasts_h)} more"
    else:
        why = f"takes {found.takes} of these"
    lines = [f"{at.tray}: not enough, {why}"]
    if found.more is not None:
        how = "rotate" if at.role is Role.FIRST else "mix"
        much = times_words(found.fresh_baths, at.bath.volume_ml)
        lines.append(f"  {how} {much}: {mixed_words(found.more, found.fresh_baths)}")
    return lines


def times_words(baths: int, volume_ml: float) -> str:
    """Say how many baths of which volume."""
    return litres_of(volume_ml) if baths == 1 else f"{baths} times {litres_of(volume_ml)}"


def mixed_words(more: Mix, baths: int) -> str:
    """Say what is poured together, and to how much in all where there are more baths than one."""
    poured = [
        f"{ml(amount)} {name}"
        for name, amount in zip(more.dilution.names, more.concentrates_ml, strict=True)
    ]
    if more.water_ml:
        poured.append(f"{ml(more.water_ml)} water")
    in_all = f"{litres(more.volume_ml)} in all, of " if baths > 1 else ""
    return in_all + " and ".join(poured)
