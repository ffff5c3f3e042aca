"""Each bath of tonight's process: does it stand there, is it enough, and what is to be mixed?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from controller.chemistry.bath import Place, Role
from controller.chemistry.cautions import Kind
from controller.chemistry.dilution import Mix, dilution_of, mix
from controller.chemistry.freshness import Status, status
from controller.chemistry.product import Product
from controller.chemistry.shelf import SECOND, bath_of, bath_of_tray
from controller.chemistry.tonight import (
    Edition,
    Need,
    mixed_words,
    need,
    need_lines,
    needs,
    times_words,
)

USUAL_ML = 1000.0  # of a bath where none stands beside it (common practice, no source)
# what a tray's name says of what is in it; nothing here: water
_KINDS = {
    "develop": Kind.DEVELOPER,
    "stop": Kind.STOP,
    "fix": Kind.FIXER,
    "clear": Kind.CLEARING,
    "selenium": Kind.SELENIUM,
    "toner": Kind.TONER,
    "bleach": Kind.BLEACH,
}


@dataclass(frozen=True, slots=True)
class Missing:
    """A bath that the process needs and of which none is kept.

    ``baths`` of ``volume_ml`` each would do, as far as figures tell; ``more`` is what they come to.
    Without a product of its kind there is no ``more``.
    """

    tray: str
    product: str
    baths: int
    volume_ml: float
    more: Mix | None


def evening(
    standing: Sequence[Status],
    trays: Iterable[str],
    edition: Edition,
    products: Iterable[Product],
    now: datetime,
) -> list[Need | Missing]:
    """Go through the trays of a process, and then through what else stands in a tray."""
    known = list(products)
    volume_ml = max((each.bath.volume_ml for each in standing), default=USUAL_ML)
    told: list[Need | Missing] = []
    for tray in trays:
        found = bath_of_tray(standing, tray)
        if found is not None:
            told.append(need(found, edition))
        elif (kind := kind_of(tray)) is not None:
            told.append(_missing(tray, _product(known, kind, tray), volume_ml, edition, now))
    here = [each.status for each in told if isinstance(each, Need)]
    return told + [each for each in needs(list(standing), edition) if each.status not in here]


def evening_lines(found: Need | Missing) -> list[str]:
    """Say it for a person."""
    if isinstance(found, Missing):
        if found.more is None:
            return [f"{found.tray}: no bath is kept, and no product for it is known"]
        return [
            f"{found.tray}: no bath is kept",
            f"  mix {times_words(found.baths, found.volume_ml)} of {found.product}: "
            f"{mixed_words(found.more, found.baths)}",
        ]
    at = found.status
    if at.role is Role.SECOND and found.enough and found.takes is None:
        return [f"{at.tray}: enough as long as the first is"]
    lines = need_lines(found)
    if at.place is not Place.TRAY:
        lines.append(f"  it stands in a {at.place.value}")
    return lines


def kind_of(tray: str) -> Kind | None:
    """Tell from a tray's name what is in it; None: water."""
    name = tray.casefold()
    return next((kind for word, kind in _KINDS.items() if word in name), None)


def _missing(
    tray: str, product: Product | None, volume_ml: float, edition: Edition, now: datetime
) -> Missing:
    if product is None:
        return Missing(tray, "", 1, volume_ml, None)
    role = Role.SECOND if tray.casefold() == SECOND else Role.ALONE
    fresh = status(bath_of(product, volume_ml, now, tray=tray, role=role), (), now)
    baths = 1 + need(fresh, edition).fresh_baths
    more = mix(dilution_of(product.dilution, "dilution"), Fraction(volume_ml) * baths)
    return Missing(tray, product.name, baths, volume_ml, more)


def _product(known: Sequence[Product], kind: Kind, tray: str) -> Product | None:
    """Choose what would be mixed: the printer's own first, for one bath or for two as it stands."""
    fitting = [each for each in known if each.kind is kind]
    if kind is Kind.FIXER:
        two = "first" in tray or "second" in tray
        fitting.sort(key=lambda each: ("two" in each.name) is not two)
    return next(iter(fitting), None)
