"""A card as it was typed, at the command line or in a form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from controller.chemistry.amounts import exactly, volume_ml
from controller.chemistry.card import Card, card
from controller.chemistry.cautions import Kind
from controller.chemistry.dilution import Colon, dilution_of
from controller.chemistry.tray_volume import depth_cm, tray_cm, tray_ml
from controller.errors import BadInput, quoted
from controller.numbered import numbered

if TYPE_CHECKING:
    from controller.chemistry.product import Product


@dataclass(frozen=True, slots=True)
class AskedCard:
    """A card as it was typed, field by field."""

    product: str = ""
    dilution: str = ""
    volume: str = ""
    tray: str = ""
    depth: str = "2"
    vessel: str = ""
    left: tuple[str, ...] = ()
    kind: str = ""


def card_asked(
    asked: AskedCard, products: Mapping[str, Product], colon: Colon | None = None
) -> Card:
    """Make the card that was asked for. Raises BadInput."""
    product = product_asked(asked, products)
    dilution = dilution_of(dilution_asked(asked, product), "--dilution", colon)
    kind = kind_of(asked.kind) or (product.kind if product else None)
    volume, why = _volume(asked)
    left = tuple(volume_ml(each, "--left", zero=True) for each in asked.left)
    if left and len(left) != len(dilution.names):
        names = " and ".join(dilution.names)
        given = numbered(len(left), "amount")
        raise BadInput(f"{given} given for {names}", "--left", f"one for each of {names}")
    vessel = volume_ml(asked.vessel, "--vessel") if asked.vessel else None
    title = product.name if product else ""
    return card(
        dilution,
        volume,
        title=title,
        kind=kind,
        vessel_ml=vessel,
        left_ml=left,
        why=why,
        own=product.cautions if product else (),
    )


def product_asked(asked: AskedCard, products: Mapping[str, Product]) -> Product | None:
    """Find the product, where one is named. Raises BadInput."""
    if not asked.product:
        return None
    from controller.chemistry.product import find_product

    return find_product(products, asked.product, "chemistry card")


def dilution_asked(asked: AskedCard, product: Product | None) -> str:
    """Give the dilution as it was written: the one typed, else the product's. Raises BadInput."""
    text = asked.dilution or (product.dilution if product else "")
    if not text:
        right = "one such as 1+9, or a product's name before it"
        raise BadInput("no dilution is given", "--dilution", right)
    return text


def kind_of(text: str) -> Kind | None:
    """Read a kind of bath; None where nothing is given. Raises BadInput."""
    if not text:
        return None
    try:
        return Kind(text.strip().lower())
    except ValueError:
        right = f"one of {', '.join(each.value for each in Kind)}"
        raise BadInput(f"{quoted(text)} is no kind of bath", "--kind", right) from None


def _volume(asked: AskedCard) -> tuple[Fraction, str]:
    if bool(asked.tray) == bool(asked.volume):
        raise BadInput(
            "a volume and a tray are given" if asked.tray else "no amount is given",
            "--volume",
            "one of --volume 1000 and --tray 30x40",
        )
    if asked.volume:
        return volume_ml(asked.volume, "--volume"), ""
    size, depth = tray_cm(asked.tray, "--tray"), depth_cm(asked.depth, "--depth")
    sides = " x ".join(exactly(side) for side in size)
    return tray_ml(size, depth), f"a tray of {sides} cm, {exactly(depth)} cm deep, flat floor"
