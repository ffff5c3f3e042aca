"""Files of products: what is read, and what is said of a bad one."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.chemistry.asked import AskedCard, card_asked
from controller.chemistry.bath import EIGHT_BY_TEN_M2
from controller.chemistry.cautions import cautions
from controller.chemistry.product import FILE, find_product, load_products, read_products, shipped
from controller.errors import BadInput

OWN = """
[[product]]
name = "Paper developer"
kind = "developer"
dilution = "1+14"
[product.capacity]
unit = "m2"
fibre = 2
"""


def test_the_printers_own_replaces_a_starting_point(tmp_path: Path) -> None:
    """By its name in any case; the others stay."""
    (tmp_path / FILE).write_text(OWN)
    products = load_products(tmp_path)
    own = find_product(products, "paper", "here")
    assert own.dilution == "1+14"
    assert own.figures.fibre_m2_per_l == 2
    assert len(products) == len(shipped())
    fixer = find_product(products, "FIXER", "here").figures
    assert fixer.fibre_m2_per_l == pytest.approx(10 * EIGHT_BY_TEN_M2)


@pytest.mark.parametrize("product", shipped(), ids=lambda product: product.name)
def test_each_starting_point_has_its_source(product: object) -> None:
    """No figure without the class of its source."""
    source = getattr(product, "source", "")
    assert any(each in source for each in ("common practice", "from memory", "seen in"))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"1+14"', '"1:14"', "--colon plus or --colon in"),
        ('"1+14"', '"strong"', "not a dilution"),
        ("fibre = 2", "fibre = -2", "above 0"),
        ("fibre = 2", "fibres = 2", '"fibre"'),
        ('"m2"', '"acre"', "8x10"),
        ('"developer"', '"soup"', "stop"),
        ('name = "Paper developer"', 'name = ""', "name"),
        ("[product.capacity]", "[product.capacity", "TOML"),
        (OWN, OWN + OWN, "twice"),
    ],
)
def test_a_bad_file_is_one_sentence(old: str, new: str, said: str) -> None:
    """Field, what is wrong, and what would be right."""
    with pytest.raises(BadInput) as refused:
        read_products(OWN.replace(old, new), "chemistry.toml")
    sentence = str(refused.value)
    assert "chemistry.toml" in sentence
    assert said in sentence
    assert sentence.count("\n") == 0


def test_a_misspelt_product_has_its_neighbour_named() -> None:
    """One sentence, with the nearest."""
    products = {product.name: product for product in shipped()}
    with pytest.raises(BadInput, match="'stop bath'"):
        find_product(products, "stop bsth", "here")
    with pytest.raises(BadInput, match="one of"):
        find_product(products, "", "here")


def test_the_label_and_the_place_of_the_sheet_stand_on_the_card() -> None:
    """Before the cautions of its kind."""
    text = OWN.replace(
        "[product.capacity]",
        """hazards = "stains."
safety_sheet = "drawer 2"
[product.capacity]""",
    )
    (own,) = read_products(text, "chemistry.toml")
    made = card_asked(AskedCard("paper developer", volume="1l"), {"paper developer": own})
    assert made.cautions[:2] == ("On its label: stains.", "Its safety data sheet: drawer 2.")
    assert made.cautions[2:] == cautions(own.kind)
