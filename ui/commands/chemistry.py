"""``dryside chemistry card`` and ``percent``: mixing."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from controller.chemistry.amounts import exactly, number_of, plain, volume_ml
from controller.chemistry.asked import (
    AskedCard,
    card_asked,
    dilution_asked,
    kind_of,
    product_asked,
)
from controller.chemistry.card import card, card_json, card_lines
from controller.chemistry.dilution import (
    Colon,
    both_readings,
    has_two_readings,
    strength_percent,
    weaker,
)
from controller.errors import BadInput, quoted
from ui import show

if TYPE_CHECKING:
    from controller.chemistry.product import Product


def show_card(asked: AskedCard, colon: str, pdf: str | None, *, json_: bool) -> None:
    """Show a card, and leave it as a PDF where that is wanted."""
    products: Mapping[str, Product] = {}
    if asked.product:
        from controller.chemistry.product import load_products
        from drivers.places import config_folder

        products = load_products(config_folder())
    made = card_asked(asked, products, _colon(asked, products, colon, may_ask=not json_))
    if pdf:
        from controller.chemistry.card_pdf import write_card

        write_card(made, Path(pdf))
        show.note(f"the card to pin up is {pdf}")
    if json_:
        show.as_json(card_json(made))
    else:
        show.lines(card_lines(made))


def _colon(
    asked: AskedCard, products: Mapping[str, Product], colon: str, *, may_ask: bool
) -> Colon | None:
    """Give what a colon means; a person at a terminal is asked."""
    if colon:
        try:
            return Colon(colon.strip().lower())
        except ValueError:
            raise BadInput(f"{quoted(colon)} is not right", "--colon", "plus or in") from None
    text = dilution_asked(asked, product_asked(asked, products))
    if not (may_ask and has_two_readings(text) and sys.stdin.isatty()):
        return None
    print(f"{both_readings(text)}; the product's own sheet tells.")
    answer = input("plus or in? ").strip().lower()
    if answer not in ("plus", "in"):
        raise BadInput(f"{quoted(answer)} is neither", "the colon", "plus or in")
    return Colon(answer)


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
