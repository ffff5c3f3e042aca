"""``dryside chemistry card`` and ``percent``: mixing."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from controller.chemistry.amounts import exactly, number_of, plain, volume_ml
from controller.chemistry.card import Card, card, card_json, card_lines
from controller.chemistry.cautions import Kind
from controller.chemistry.dilution import (
    Colon,
    Dilution,
    both_readings,
    dilution_of,
    has_two_readings,
    strength_percent,
    weaker,
)
from controller.chemistry.tray_volume import depth_cm, tray_cm, tray_ml
from controller.errors import BadInput, quoted
from ui import show

if TYPE_CHECKING:
    from controller.chemistry.product import Product


@dataclass(frozen=True, slots=True)
class AskedCard:
    """A card as it was typed."""

    product: str = ""
    dilution: str = ""
    volume: str = ""
    tray: str = ""
    depth: str = "2"
    vessel: str = ""
    left: tuple[str, ...] = ()
    kind: str = ""


def show_card(asked: AskedCard, colon: str, pdf: str | None, *, json_: bool) -> None:
    """Show a card, or leave it as a PDF."""
    made = make_card(asked, colon, may_ask=not json_)
    if pdf:
        from controller.chemistry.card_pdf import write_card

        write_card(made, Path(pdf))
        show.note(f"the card to pin up is {pdf}")
    if json_:
        show.as_json(card_json(made))
    else:
        show.lines(card_lines(made))


def make_card(asked: AskedCard, colon: str, *, may_ask: bool) -> Card:
    """Make the card that was asked for. Raises BadInput."""
    product = _product(asked.product)
    text = asked.dilution or (product.dilution if product else "")
    if not text:
        right = "one such as 1+9, or a product's name before it"
        raise BadInput("no dilution is given", "--dilution", right)
    dilution = _dilution(text, colon, may_ask=may_ask)
    kind = kind_of(asked.kind) or (product.kind if product else None)
    title = product.name if product else ""
    volume, why = _volume(asked)
    left = tuple(volume_ml(each, "--left", zero=True) for each in asked.left)
    if left and len(left) != len(dilution.names):
        names = " and ".join(dilution.names)
        raise BadInput(
            f"{len(left)} amounts are given for {names}", "--left", f"one for each of {names}"
        )
    vessel = volume_ml(asked.vessel, "--vessel") if asked.vessel else None
    return card(dilution, volume, title=title, kind=kind, vessel_ml=vessel, left_ml=left, why=why)


def _product(name: str) -> Product | None:
    if not name:
        return None
    from controller.chemistry.product import find_product, load_products
    from drivers.places import config_folder

    return find_product(load_products(config_folder()), name, "chemistry card")


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


def _dilution(text: str, colon: str, *, may_ask: bool) -> Dilution:
    """Read the dilution; a person at a terminal is asked what a colon means."""
    meant = None
    if colon:
        try:
            meant = Colon(colon.strip().lower())
        except ValueError:
            raise BadInput(f"{quoted(colon)} is not right", "--colon", "plus or in") from None
    elif may_ask and has_two_readings(text) and sys.stdin.isatty():
        print(f"{both_readings(text)}; the product's own sheet tells.")
        answer = input("plus or in? ").strip().lower()
        if answer not in ("plus", "in"):
            raise BadInput(f"{quoted(answer)} is neither", "the colon", "plus or in")
        meant = Colon(answer)
    return dilution_of(text, "--dilution", meant)


def percent(from_: str, volume: str, to: str, take: str, kind: str, *, json_: bool) -> None:
    """Show how much of a strong solution makes a weak one, or how strong a mix becomes."""
    right = "a percentage such as 60 or 2.5"
    strong = number_of(from_.removesuffix("%").strip(), "--from", right)
    whole = volume_ml(volume, "--volume")
    of_kind = kind_of(kind)
    if bool(to) == bool(take):
        raise BadInput("one of two is wanted", "--to or --take", "--to 2, or --take 48")
    if to:
        weak = number_of(to.removesuffix("%").strip(), "--to", right)
    else:
        weak = strength_percent(strong, volume_ml(take, "--take"), whole, "--take")
    mixed = weaker(strong, weak, whole, "--to")
    reading = (
        f"{exactly(strong)} % to {exactly(weak)} %, both of one kind (by volume, or weight "
        "by volume)"
    )
    made = card(mixed.dilution, whole, kind=of_kind)
    if json_:
        show.as_json(
            {
                "reading": reading,
                "from_percent": plain(strong),
                "to_percent": plain(weak),
                "volume_ml": plain(whole),
                "concentrate_ml": plain(mixed.concentrate_ml),
                "water_ml": plain(mixed.water_ml),
                "cautions": list(made.cautions),
            }
        )
        return
    lines = card_lines(made)
    show.lines([lines[0], f"  {reading}", *lines[2:]])
