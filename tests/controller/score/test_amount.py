"""Amounts of exposure as they are written: stops that follow, and seconds that do not."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.score.amount import Amount, Unit, parse_amount, seconds, stops

fractions = st.builds(Fraction, st.integers(-20_000, 20_000), st.integers(1, 1000)).filter(
    lambda value: abs(value) <= 20
)
amounts = st.one_of(
    fractions.map(stops),
    st.floats(-20, 20).map(stops),
    st.floats(0, 80_000).map(seconds),
)


@given(amounts)
def test_what_is_written_is_read_as_it_was(amount: Amount) -> None:
    """Writing an amount and reading it again loses nothing, to the last digit."""
    assert parse_amount(str(amount)) == amount


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("+1/3", Amount(Unit.STOPS, Fraction(1, 3))),
        ("1/3", Amount(Unit.STOPS, Fraction(1, 3))),
        ("-1/2 stop", Amount(Unit.STOPS, Fraction(-1, 2))),
        ("+0.25", Amount(Unit.STOPS, Fraction(1, 4))),
        ("½", Amount(Unit.STOPS, Fraction(1, 2))),
        ("+2", Amount(Unit.STOPS, Fraction(2))),
        ("2 stops", Amount(Unit.STOPS, Fraction(2))),
        ("+0", Amount(Unit.STOPS, Fraction(0))),
        ("4.5s", Amount(Unit.SECONDS, Fraction(9, 2))),
        ("+4.5 sec", Amount(Unit.SECONDS, Fraction(9, 2))),
        ("3 seconds", Amount(Unit.SECONDS, Fraction(3))),
        ("1m10s", Amount(Unit.SECONDS, Fraction(70))),
        ("2m", Amount(Unit.SECONDS, Fraction(120))),
        ("1:30", Amount(Unit.SECONDS, Fraction(90))),
        ("0s", Amount(Unit.SECONDS, Fraction(0))),
        ("0.0 sec", Amount(Unit.SECONDS, Fraction(0))),
    ],
)
def test_stops_and_seconds_are_told_apart_by_how_they_are_written(
    text: str, amount: Amount
) -> None:
    """A unit or a sign says of what it is."""
    assert parse_amount(text) == amount


@pytest.mark.parametrize("text", ["2", "0.5", " 12 ", ".5", "0"])
def test_a_bare_number_is_refused_with_both_readings(text: str) -> None:
    """Two stops or two seconds: nobody guesses."""
    with pytest.raises(BadInput) as refused:
        parse_amount(text, "dose")
    assert "does not say of what" in refused.value.what
    for right in (f"+{text.strip()} for stops", f"{text.strip()}s for seconds"):
        assert right in refused.value.right
    parse_amount(f"+{text.strip()}")
    parse_amount(f"{text.strip()}s")


@pytest.mark.parametrize(
    "text", ["", "s", ".", ".s", "+", "m", "1/0", "-3s", "4,5s", "a stop", "1.2.3", "9999999s"]
)
def test_what_is_no_amount_is_refused_with_one(text: str) -> None:
    """The sentence names the place and gives both forms."""
    with pytest.raises(BadInput, match=r"stops such as \+1/3 or -1/2, or seconds") as refused:
        parse_amount(text, "burn")
    assert refused.value.where == "burn"


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Nothing but BadInput comes of text that is no amount."""
    try:
        amount = parse_amount(text)
    except BadInput:
        return
    assert parse_amount(str(amount)) == amount


@pytest.mark.parametrize("denominator", [1, 2, 3, 4, 6, 8, 12, 24])
def test_a_float_becomes_the_fraction_that_printers_write(denominator: int) -> None:
    """A third that arithmetic has made is written as a third."""
    assert stops(7 / denominator).value == Fraction(7, denominator)
    assert stops(round(-7 / denominator, 5)).value == Fraction(-7, denominator)


def test_seconds_are_multiplied_and_stops_are_not() -> None:
    """When all exposure is multiplied, stops from it stay what they are."""
    assert stops(Fraction(1, 3)).times(2.5) == stops(Fraction(1, 3))
    assert seconds(4).times(2.5) == seconds(10)
    assert stops(1).follows
    assert not seconds(1).follows


def test_from_a_base_over_it_and_held_of_it() -> None:
    """Half a stop from, over and of 10 s; and 3 s are 3 s whatever the base."""
    half, three = stops(Fraction(1, 2)), seconds(3)
    assert half.from_base_s(10) == pytest.approx(14.142136)
    assert half.over_s(10) == pytest.approx(4.142136)
    assert half.held_s(10) == pytest.approx(2.928932)
    assert {three.from_base_s(10), three.over_s(10), three.held_s(10)} == {3.0}
