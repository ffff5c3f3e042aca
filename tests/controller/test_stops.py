"""Exposure arithmetic: exact where it can be, total, and readable both ways."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller import stops as s
from controller.errors import BadInput
from controller.stops import Step, StepUnit

floats = st.floats(allow_nan=True, allow_infinity=True)
some_stops = st.floats(-20, 20)
twelfths = st.integers(-240, 240).map(lambda k: Fraction(k, 12))

CONVERSIONS = [
    s.stops_to_factor,
    s.factor_to_stops,
    s.stops_to_log_exposure,
    s.log_exposure_to_stops,
    s.stops_to_percent,
    s.percent_to_stops,
]
NOT_STOPS = (
    "| |pear|1/0|1/|/3|+|-|.|1.|1 4/3|1 1|--1|1/3/5|1-1/3|1e3|nan|inf|21|999999|1/3 s|\u0663|0x1"
    "|stops|1_0"
)
NOT_TIMES = "|pear|0|0s|-3|1:60|1m75|1:3|:30|1:|m|s|1h|8 8|1e3|nan|inf|99999999|99999:00|1/2|1:-5"
PARSERS = [s.parse_stops, s.parse_time, s.parse_step, s.aperture_value]


# --- conversions ------------------------------------------------------------------------------


@given(some_stops)
def test_stops_go_to_a_factor_and_back(x: float) -> None:
    """Stops made a factor and read back are the same stops."""
    assert s.factor_to_stops(s.stops_to_factor(x)) == pytest.approx(x, abs=1e-12)


@given(some_stops)
def test_stops_go_to_log_exposure_and_back(x: float) -> None:
    """Stops made log exposure and read back are the same stops."""
    assert s.log_exposure_to_stops(s.stops_to_log_exposure(x)) == pytest.approx(x, abs=1e-12)
    assert 10 ** s.stops_to_log_exposure(x) == pytest.approx(s.stops_to_factor(x))


@given(some_stops)
def test_stops_go_to_percent_and_back(x: float) -> None:
    """Stops made a percentage and read back are the same stops."""
    assert s.percent_to_stops(s.stops_to_percent(x)) == pytest.approx(x, abs=1e-9)
    assert 1 + s.stops_to_percent(x) / 100 == pytest.approx(s.stops_to_factor(x))


@given(some_stops, some_stops)
def test_stops_add_where_factors_multiply(a: float, b: float) -> None:
    """The factor of a sum of stops is the product of their factors."""
    assert s.stops_to_factor(a + b) == pytest.approx(s.stops_to_factor(a) * s.stops_to_factor(b))


@given(st.integers(-1000, 1000))
def test_whole_stops_are_exact(k: int) -> None:
    """Whole stops are exact powers of two, both ways."""
    assert s.stops_to_factor(Fraction(k)) == math.ldexp(1.0, k)
    assert s.factor_to_stops(math.ldexp(1.0, k)) == k


@given(st.floats(-5, 5))
def test_the_smallest_percentages_keep_their_digits(x: float) -> None:
    """A change far below a percent is not lost in rounding."""
    tiny = x * 1e-9
    assert s.percent_to_stops(tiny) == pytest.approx(tiny / 100 / math.log(2), rel=1e-6)


@pytest.mark.parametrize("convert", CONVERSIONS, ids=lambda f: f.__name__)
@given(x=floats)
def test_conversions_are_total(convert, x: float) -> None:
    """Whatever number is given, a conversion gives a finite number or says what is wrong."""
    try:
        given_back, said = convert(x), None
    except BadInput as error:
        given_back, said = None, str(error)
    assert said is None or "right would be" in said
    assert given_back is None or math.isfinite(given_back)


@pytest.mark.parametrize("percent", [-100, -100.1, -1e9, -math.inf])
def test_nothing_left_is_no_exposure(percent: float) -> None:
    """At -100 % and below there are no stops."""
    with pytest.raises(BadInput):
        s.percent_to_stops(percent)


# --- writing and reading ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "stops"),
    [
        ("1/3", Fraction(1, 3)),
        ("+2/3", Fraction(2, 3)),
        ("-1 1/6", Fraction(-7, 6)),
        ("0.5", Fraction(1, 2)),
        (".5", Fraction(1, 2)),
        ("1", Fraction(1)),
        ("0", Fraction(0)),
        ("4/3", Fraction(4, 3)),
        ("½", Fraction(1, 2)),
        ("1½", Fraction(3, 2)),
        ("\N{MINUS SIGN}1 ⅙", Fraction(-7, 6)),
        ("\N{EN DASH}⅓", Fraction(-1, 3)),
        ("1\N{FRACTION SLASH}3", Fraction(1, 3)),
        ("  + 1\N{NO-BREAK SPACE}1/2  stops ", Fraction(3, 2)),
        ("1/3 stop", Fraction(1, 3)),
        ("0.33", Fraction(33, 100)),
    ],
)
def test_stops_are_read_as_printers_write_them(text: str, stops: Fraction) -> None:
    """Each way of writing stops is read, exactly."""
    assert s.parse_stops(text) == stops


@pytest.mark.parametrize("text", NOT_STOPS.split("|"))
def test_other_writing_is_not_stops(text: str) -> None:
    """What is not stops is refused with a sentence that shows stops."""
    with pytest.raises(BadInput, match="right would be"):
        s.parse_stops(text)


@given(twelfths)
def test_stops_are_written_and_read_back(x: Fraction) -> None:
    """Every twelfth of a stop is read back exactly as it was written."""
    assert s.parse_stops(s.format_stops(x)) == x
    assert s.parse_stops(s.format_stops(abs(x), signed=False)) == abs(x)


@given(some_stops)
def test_odd_stops_are_written_to_two_decimals(x: float) -> None:
    """Stops that are no fraction in use are written to within half a hundredth."""
    assert float(s.parse_stops(s.format_stops(x))) == pytest.approx(x, abs=0.005001)


@pytest.mark.parametrize(
    ("stops", "text"),
    [
        (Fraction(1, 3), "+1/3"),
        (Fraction(-7, 6), "-1 1/6"),
        (Fraction(0), "0"),
        (-0.0, "0"),
        (-0.001, "0"),
        (1, "+1"),
        (1 / 3, "+1/3"),
        (Fraction(1, 10), "+0.1"),
        (-0.152, "-0.15"),
        (2.5, "+2 1/2"),
        (20, "+20"),
    ],
)
def test_stops_are_written_as_printers_do(stops: s.Stops, text: str) -> None:
    """Stops are written with a sign and a common fraction."""
    assert s.format_stops(stops) == text


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("8", 8),
        ("8s", 8),
        ("8.5 s", 8.5),
        (".5", 0.5),
        ("1m30", 90),
        ("1m30s", 90),
        ("1 min 30 s", 90),
        ("2m", 120),
        ("1:30", 90),
        ("1:30.4", 90.4),
        ("0:05", 5),
        ("90", 90),
    ],
)
def test_times_are_read_as_printers_write_them(text: str, seconds: float) -> None:
    """Each way of writing a time is read, in seconds."""
    assert s.parse_time(text) == pytest.approx(seconds, abs=1e-12)


@pytest.mark.parametrize("text", NOT_TIMES.split("|"))
def test_other_writing_is_not_a_time(text: str) -> None:
    """What is not a time, or is none at all, is refused with a sentence."""
    with pytest.raises(BadInput, match="right would be"):
        s.parse_time(text)


@given(st.floats(0.01, 36_000))
def test_times_are_written_and_read_back(seconds: float) -> None:
    """A time is read back to the tenth that was written; below a second, to the hundredth."""
    tolerance = 0.050001 if seconds >= 0.995 else 0.005001
    assert s.parse_time(s.format_time(seconds)) == pytest.approx(seconds, abs=tolerance)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (8, "8.0 s"),
        (0.333, "0.33 s"),
        (0.997, "1.0 s"),
        (59.94, "59.9 s"),
        (59.96, "1:00"),
        (90, "1:30"),
        (90.4, "1:30.4"),
        (119.99, "2:00"),
        (0, "0.00 s"),
    ],
)
def test_times_are_written_as_printers_do(seconds: float, text: str) -> None:
    """Below a minute a time is seconds and tenths, from there minutes and seconds."""
    assert s.format_time(seconds) == text


def test_a_comma_is_refused_with_the_point_shown() -> None:
    """A decimal comma could part thousands as well, so the point is asked for."""
    with pytest.raises(BadInput, match=r"--base: '8,5 s' has a comma.*'8\.5 s'"):
        s.parse_time("8,5 s", "--base")
    for parse in PARSERS:
        with pytest.raises(BadInput, match="comma"):
            parse("0,5")


@pytest.mark.parametrize("parse", PARSERS, ids=lambda f: f.__name__)
@given(text=st.text() | st.text("0123456789/.: +-smf%½⅓\N{MINUS SIGN},", max_size=8))
def test_reading_is_total(parse, text: str) -> None:
    """Whatever text is given, it is read or refused in one line that names the place."""
    try:
        said = f"--here: {parse(text, where='--here')} was read"
    except BadInput as error:
        said = str(error)
    assert said.startswith("--here: ")
    assert len(said.splitlines()) == 1


# --- steps and series -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("1/3", Step(StepUnit.STOPS, Fraction(1, 3))),
        ("1 1/2 stops", Step(StepUnit.STOPS, Fraction(3, 2))),
        ("1 stop", Step(StepUnit.STOPS, Fraction(1))),
        ("2s", Step(StepUnit.SECONDS, Fraction(2))),
        ("2.5 s", Step(StepUnit.SECONDS, Fraction(5, 2))),
        ("25%", Step(StepUnit.PERCENT, Fraction(25))),
        ("+12.5 %", Step(StepUnit.PERCENT, Fraction(25, 2))),
    ],
)
def test_a_step_carries_its_unit(text: str, step: Step) -> None:
    """A step is stops unless seconds or percent are written behind it."""
    assert s.parse_step(text) == step


@pytest.mark.parametrize(
    "text", ["pear", "0", "-1/3", "0s", "-2s", "0%", "1/3s", "%", "s", "25", ""]
)
def test_other_writing_is_not_a_step(text: str) -> None:
    """A step is more than nothing, and 25 stops are surely meant otherwise."""
    with pytest.raises(BadInput, match="right would be"):
        s.parse_step(text, "--step")


@given(
    st.builds(
        Step,
        st.sampled_from(StepUnit),
        st.one_of(
            st.integers(1, 20 * 12).map(lambda k: Fraction(k, 12)),
            st.integers(1, 20_000).map(lambda k: Fraction(k, 1000)),
        ),
    )
)
def test_a_step_is_written_as_it_is_read(step: Step) -> None:
    """A step in stops is read back exactly, one in seconds or percent to its ninth decimal."""
    again = s.parse_step(str(step))
    assert again.unit is step.unit
    if step.unit is StepUnit.STOPS:
        assert again == step
    assert float(again.value) == pytest.approx(float(step.value), abs=1e-9)


@given(st.floats(0.1, 100), st.integers(1, 12).map(lambda k: Fraction(k, 12)), st.integers(1, 30))
def test_a_series_in_stops_keeps_its_ratio(base_s: float, step: Fraction, n: int) -> None:
    """Each total is the one before times the same factor, and the first is the base."""
    totals = s.series(base_s, step, n)
    assert totals[0] == base_s
    assert len(totals) == n
    for k, total in enumerate(totals):
        assert s.factor_to_stops(total / base_s) == pytest.approx(float(k * step), abs=1e-9)


@given(st.floats(0.1, 100), st.floats(0.01, 2), st.integers(1, 30))
def test_the_pulses_of_a_series_add_up_to_its_last_total(
    base_s: float, step: float, n: int
) -> None:
    """Differences summed are the last total again."""
    totals = s.series(base_s, step, n)
    assert math.fsum(s.differences(totals)) == pytest.approx(totals[-1], rel=1e-12, abs=1e-9)


def test_series_in_seconds_and_in_percent() -> None:
    """A step in seconds adds, a step in percent is of the patch before."""
    assert s.series(8, s.parse_step("2s"), 4) == [8, 10, 12, 14]
    assert s.series(8, s.parse_step("25%"), 3) == [8, 10, 12.5]


def test_whole_stops_of_a_series_are_exact() -> None:
    """Thirds that make a whole stop double the base without any error."""
    assert s.series(8, Fraction(1, 3), 10)[::3] == [8, 16, 32, 64]


@pytest.mark.parametrize(
    ("base_s", "step", "n"),
    [
        (0, Fraction(1), 3),
        (-8, Fraction(1), 3),
        (math.nan, Fraction(1), 3),
        (8, Fraction(0), 3),
        (8, Fraction(-1), 3),
        (8, Fraction(20), 100),
        (8, Fraction(1), 0),
    ],
)
def test_a_series_of_nothing_is_refused(base_s: float, step: Fraction, n: int) -> None:
    """No base, no step, no patches, or light without end: each is refused."""
    with pytest.raises(BadInput):
        s.series(base_s, step, n)


@pytest.mark.parametrize("totals", [[8, 8], [8, 7], [0, 1], [-1], [8, math.nan]])
def test_totals_must_grow(totals: list[float]) -> None:
    """A pulse cannot take light away, so totals that do not grow have no pulses."""
    with pytest.raises(BadInput):
        s.differences(totals)


# --- f-numbers --------------------------------------------------------------------------------


def test_an_engraved_number_may_be_written_in_every_usual_way() -> None:
    """f/8, f8, F 8, 8 and the number itself are the same aperture."""
    for written in ("f/8", "f8", "F 8", "8", "8.0", 8, 8.0):
        assert s.aperture_value(written) == 6


@given(st.sampled_from([1.4, 1.8, 2.8, 3.3, 5.6, 6.3, 8, 9.5, 11]), st.sampled_from([4, 4.5, 22]))
def test_closing_and_opening_undo_each_other(a: float, b: float) -> None:
    """There and back is no change at all."""
    assert s.aperture_stops(a, b) + s.aperture_stops(b, a) == 0


def test_two_engravings_are_halves_unless_thirds_are_said() -> None:
    """1.2 and 13 are engraved for a half and for a third; the caller says which."""
    assert s.aperture_value(13) == Fraction(15, 2)
    assert s.aperture_value(13, thirds=True) == Fraction(22, 3)
    assert s.aperture_value("1.2") == Fraction(1, 2)
    assert s.aperture_value("1.2", thirds=True) == Fraction(2, 3)


def test_a_number_on_no_ring_is_refused_with_its_neighbours() -> None:
    """A number that no ring bears is refused, and the nearest two are named."""
    with pytest.raises(BadInput, match=r"no ring is engraved 8\.5; right would be 8 or 9\."):
        s.aperture_value(8.5)
    for nothing in ("pear", "f/", "-8", "1/8", math.nan, math.inf, 1e9):
        with pytest.raises(BadInput):
            s.aperture_value(nothing)
