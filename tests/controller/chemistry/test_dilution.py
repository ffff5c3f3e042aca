"""Dilutions: what is read, what is refused, and that nothing is lost in between."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.chemistry.amounts import exactly, ml, volume_ml
from controller.chemistry.card import card, card_json, card_lines, notes, steps
from controller.chemistry.cautions import Kind, cautions
from controller.chemistry.dilution import Colon, batches, dilution_of, enough, mix
from controller.errors import BadInput

PARTS = st.decimals(min_value="0.001", max_value=9999, places=3, allow_nan=False)


def test_what_was_understood_is_said_in_words() -> None:
    """Parts, names, and the sum; of a colon or an "in" also how it was read."""
    nine = "1 part concentrate and 9 parts water make 10 parts"
    assert dilution_of("1+9", "here").reading == f"1+9: {nine}"
    assert dilution_of("1 in 10", "here").reading == f"1 in 10 read as 1+9: {nine}"
    plus = dilution_of("1:9", "here", Colon.PLUS).reading
    assert plus == f"1:9 read as 1+9 (the colon as a plus): {nine}"
    two = dilution_of("1+1+8", "here").reading
    assert two == "1+1+8: 1 part A, 1 part B and 8 parts water make 10 parts"
    assert dilution_of("stock", "here").reading.endswith("undiluted, no water")


def test_a_colon_is_never_guessed() -> None:
    """Both readings are named, and so is the way out."""
    with pytest.raises(BadInput) as refused:
        dilution_of("1:9", "--dilution")
    said = str(refused.value)
    assert all(part in said for part in ("1+9", "1+8", "--colon plus", "--colon in"))


@pytest.mark.parametrize(
    "text", ["", "1", "1+", "+9", "1,5+9", "a+b", "0+9", "1+9+", "1:", "1 in 1", "1e3+9", "1+99999"]
)
def test_what_is_no_dilution_is_refused(text: str) -> None:
    """In one sentence that tells what would be right."""
    with pytest.raises(BadInput, match="right would be"):
        dilution_of(text, "--dilution", Colon.PLUS)


@given(PARTS, PARTS, PARTS, st.integers(1, 10**6))
def test_nothing_is_lost(a: object, b: object, water: object, volume: int) -> None:
    """The parts of a mix add up to its volume exactly, and are in the ratio of the dilution."""
    found = dilution_of(f"{a}+{b}+{water}", "here")
    mixed = mix(found, Fraction(volume))
    assert sum(mixed.concentrates_ml) + mixed.water_ml == volume
    assert mixed.concentrates_ml[0] * found.water == mixed.water_ml * found.concentrates[0]
    assert dilution_of(found.parts, "here").concentrates == found.concentrates


@given(PARTS, PARTS, st.integers(1, 10**5), st.integers(1, 10**5))
def test_batches_fit_the_vessel_and_make_the_whole(
    a: object, water: object, volume: int, vessel: int
) -> None:
    """Equal ones, none above the vessel, and one fewer would be."""
    count, one = batches(
        mix(dilution_of(f"{a}+{water}", "here"), Fraction(volume)), Fraction(vessel)
    )
    assert one.volume_ml * count == volume
    assert one.volume_ml <= vessel
    assert count == 1 or Fraction(volume, count - 1) > vessel


def test_two_bottles_give_what_the_emptier_one_does() -> None:
    """And each says what it is short of."""
    found = enough(dilution_of("1+1+8", "here"), Fraction(1000), (Fraction(200), Fraction(40)))
    assert (found.can_make_ml, found.short_ml, found.enough) == (400, (0, 60), False)


def test_the_card_says_what_is_short_and_what_is_too_little_to_measure() -> None:
    """A syringe for 3 ml; 27 of 30 ml missing."""
    made = card(dilution_of("1+9", "here"), Fraction(30), left_ml=(Fraction(1),))
    said = notes(made)
    assert said[0] == "2 ml of concentrate is short: what is left makes 10 ml."
    assert "syringe" in said[1]
    assert card_json(made)["bottles"] == {
        "enough": False,
        "can_make_ml": 10,
        "short_ml": {"concentrate": 2},
    }


def test_water_comes_first() -> None:
    """In every card that has water, so that acid goes into it."""
    for text in ("1+9", "1+1+8", "1+0.1"):
        first, *_, last = steps(card(dilution_of(text, "here"), Fraction(1000)))
        assert first.startswith("Water first")
        assert last.startswith("The rest of the water")


@pytest.mark.parametrize("kind", [None, *Kind])
def test_every_card_has_its_cautions(kind: Kind | None) -> None:
    """Acid into water, gloves and air, and that the maker's sheet leads, on every card."""
    lines = " ".join(card_lines(card(dilution_of("1+9", "here"), Fraction(1000), kind=kind)))
    for needed in ("acid always into water", "Gloves", "fresh air", "safety data sheet leads"):
        assert needed in lines
    if kind is Kind.SELENIUM:
        assert "never made acid" in lines
    if kind in (Kind.FIXER, Kind.BLEACH):
        assert "never meet" in lines
    assert len(set(cautions(kind))) == len(cautions(kind))


@pytest.mark.parametrize(
    ("text", "amount"),
    [("1000", 1000), ("1.5l", 1500), ("1.5 L", 1500), ("33cl", 330), (".5l", 500), ("2 ml", 2)],
)
def test_amounts_are_read_with_their_unit(text: str, amount: int) -> None:
    """Millilitres where there is none."""
    assert volume_ml(text, "--volume") == amount


@pytest.mark.parametrize("text", ["", "0", "-5", "1,000", "1 pint", "l", "1e9", "nan", "1001l"])
def test_what_is_no_amount_is_refused(text: str) -> None:
    """In one sentence."""
    with pytest.raises(BadInput, match="--volume"):
        volume_ml(text, "--volume")


def test_amounts_are_written_as_a_graduate_is_read() -> None:
    """Tenths below 100 ml; never a bare 0 for something."""
    shown = [ml(Fraction(text)) for text in ("62.5", "100", "1937.5", "9.96", "0.01", "0")]
    assert shown == ["62.5 ml", "100 ml", "1938 ml", "10 ml", "less than 0.1 ml", "0 ml"]
    assert exactly(Fraction("9.125")) == "9.125"
