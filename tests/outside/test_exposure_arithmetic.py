"""Exposure arithmetic against values from outside.

Where a value comes from stands in its test's id or beside it:

    D   arithmetic, true whatever a source says
    V   seen in an excerpt of the source that is named
    V2  seen in a page that reports the source
    M   from memory of the source that is named, not read again
    C   common practice, no source

A tolerance is half a unit of the last place that the source prints, unless it says otherwise.
"""

import math
from fractions import Fraction

import pytest

from controller import stops as s
from controller.errors import BadInput

# Step factors: D. The row of a quarter has 1.19 in E. Buffaloe, "Test Exposures in Printing",
# unblinkingeye.com (V).
STEP_TABLE = [
    # step, factor up, factor down, added fraction, log exposure
    ("1", 2.0000, 0.5000, 1.0000, 0.3010),
    ("3/4", 1.6818, 0.5946, 0.6818, 0.2258),
    ("2/3", 1.5874, 0.6300, 0.5874, 0.2007),
    ("1/2", 1.4142, 0.7071, 0.4142, 0.1505),
    ("1/3", 1.2599, 0.7937, 0.2599, 0.1003),
    ("1/4", 1.1892, 0.8409, 0.1892, 0.0753),
    ("1/6", 1.1225, 0.8909, 0.1225, 0.0502),
    ("1/12", 1.0595, 0.9439, 0.0595, 0.0251),
]


@pytest.mark.parametrize(
    ("step", "up", "down", "added", "log_exposure"), STEP_TABLE, ids=lambda v: f"{v}-D"
)
def test_step_factors(step: str, up: float, down: float, added: float, log_exposure: float) -> None:
    """Each step has its factors up and down, its added part and its log exposure."""
    stops = s.parse_stops(step)
    assert s.stops_to_factor(stops) == pytest.approx(up, abs=5e-5)
    assert s.stops_to_factor(-stops) == pytest.approx(down, abs=5e-5)
    assert s.stops_to_percent(stops) / 100 == pytest.approx(added, abs=5e-5)
    assert s.stops_to_log_exposure(stops) == pytest.approx(log_exposure, abs=5e-5)


def test_a_quarter_stop_as_printed() -> None:
    """A quarter stop is a factor of 1.19 (V: E. Buffaloe, "Test Exposures in Printing")."""
    assert s.stops_to_factor(Fraction(1, 4)) == pytest.approx(1.19, abs=5e-3)


def test_one_stop_in_log_exposure() -> None:
    """One stop is log10 2 = 0.30103, not 0.3 (D)."""
    assert s.stops_to_log_exposure(1) == pytest.approx(0.30103, abs=1e-5)
    assert s.log_exposure_to_stops(0.30103) == pytest.approx(1, abs=1e-5)


@pytest.mark.parametrize(
    ("percent", "stops"),
    [
        (-50, -1.0000),
        (-25, -0.4150),
        (-20, -0.3219),
        (-16, -0.2515),
        (-15, -0.2345),
        (-12, -0.1844),
        (-10, -0.1520),
        (-8, -0.1203),
        (-6, -0.0893),
        (-5, -0.0740),
        (1, 0.0144),
        (2, 0.0286),
        (5, 0.0704),
        (10, 0.1375),
        (15, 0.2016),
        (20, 0.2630),
        (25, 0.3219),
        (100 / 3, 0.4150),
        (50, 0.5850),
        (100, 1.0000),
    ],
    ids=lambda v: f"{v:g}-D",
)
def test_percent_to_stops(percent: float, stops: float) -> None:
    """A change in percent is log2(1 + p/100) stops (D)."""
    assert s.percent_to_stops(percent) == pytest.approx(stops, abs=5.1e-5)
    assert s.stops_to_percent(s.percent_to_stops(percent)) == pytest.approx(percent, abs=1e-9)


def test_a_quarter_stop_less_in_percent() -> None:
    """A quarter stop less is 15.91 % less (D)."""
    assert s.stops_to_percent(Fraction(-1, 4)) == pytest.approx(-15.91, abs=0.005)


@pytest.mark.parametrize("percent", [-100, -101], ids=lambda v: f"{v}-D")
def test_a_hundred_percent_less_is_refused(percent: float) -> None:
    """At -100 % and below stops are not defined (D)."""
    with pytest.raises(BadInput):
        s.percent_to_stops(percent)


def test_ten_percent_down_and_up_is_not_nothing() -> None:
    """Ten percent less and then ten percent more is 0.99 (D)."""
    stops = s.percent_to_stops(-10) + s.percent_to_stops(10)
    assert s.stops_to_factor(stops) == pytest.approx(0.99, abs=1e-12)


@pytest.mark.parametrize(
    ("base_s", "step", "totals", "pulses"),
    [
        (
            8,
            "1/3",
            [8.00, 10.08, 12.70, 16.00, 20.16, 25.40, 32.00],
            [8.000, 2.079, 2.620, 3.301, 4.159, 5.240, 6.602],
        ),
        (
            5,
            "1/2",
            [5.00, 7.07, 10.00, 14.14, 20.00, 28.28, 40.00],
            [5.000, 2.071, 2.929, 4.142, 5.858, 8.284, 11.716],
        ),
        (
            8,
            "1/4",
            [8.00, 9.51, 11.31, 13.45, 16.00, 19.03, 22.63],
            [8.000, 1.514, 1.800, 2.141, 2.546, 3.027, 3.600],
        ),
        (
            10,
            "1/6",
            [10.00, 11.22, 12.60, 14.14, 15.87, 17.82, 20.00],
            [10.000, 1.225, 1.375, 1.543, 1.732, 1.944, 2.182],
        ),
        (4, "1", [4, 8, 16, 32, 64], [4, 4, 8, 16, 32]),
    ],
    ids=["8-1/3-D", "5-1/2-D", "8-1/4-D", "10-1/6-D", "4-1-D"],
)
def test_strip_series(base_s: float, step: str, totals: list[float], pulses: list[float]) -> None:
    """A strip's totals are a geometric series, its pulses their differences (D)."""
    made = s.series(base_s, s.parse_step(step), len(totals))
    assert made == pytest.approx(totals, abs=5.1e-3)
    assert s.differences(made) == pytest.approx(pulses, abs=1e-3)
    assert math.fsum(s.differences(made)) == pytest.approx(made[-1], abs=1e-9)


def test_the_last_total_of_a_strip_is_exact() -> None:
    """Seven patches of a third from 8 s end at 32 s (D)."""
    assert s.series(8, Fraction(1, 3), 7)[-1] == pytest.approx(32, abs=1e-3)


# ISO 3, preferred numbers: V to 2.50 (plymouth.ac.uk design notes on ISO 3; ASME digital
# collection, Preferred Numbers), M above.
R10 = "1.00 1.25 1.60 2.00 2.50 3.15 4.00 5.00 6.30 8.00 10.0"
R20 = (
    "1.00 1.12 1.25 1.40 1.60 1.80 2.00 2.24 2.50 2.80 3.15"
    " 3.55 4.00 4.50 5.00 5.60 6.30 7.10 8.00 9.00 10.0"
)


def _source(number: str) -> str:
    return f"{number}-{'V' if float(number) <= 2.5 else 'M'}"


@pytest.mark.parametrize(
    ("per_decade", "index", "number"),
    [
        pytest.param(n, k, number, id=f"R{n}-{_source(number)}")
        for n, numbers in ((10, R10), (20, R20))
        for k, number in enumerate(numbers.split())
    ],
)
def test_preferred_numbers(per_decade: int, index: int, number: str) -> None:
    """A preferred number of ISO 3 is its place in the decade, to the standard's own rounding.

    The rounding of R10 and R20 stays below 1.3 % (D from the values themselves).
    """
    stops = index * s.log_exposure_to_stops(1 / per_decade)
    assert s.stops_to_factor(stops) == pytest.approx(float(number), rel=0.013)


def test_a_step_of_preferred_numbers_in_stops() -> None:
    """A step of R10 is 0.33219 stop and one of R20 0.16610, neither a third nor a sixth (D)."""
    assert s.log_exposure_to_stops(0.1) == pytest.approx(0.33219, abs=1e-5)
    assert s.log_exposure_to_stops(0.05) == pytest.approx(0.16610, abs=1e-5)


def test_thirds_of_a_stop() -> None:
    """Eleven thirds from 1 are the true series, and the tenth is 10.0794, not 10 (D)."""
    true = [1.0, 1.2599, 1.5874, 2.0, 2.5198, 3.1748, 4.0, 5.0397, 6.3496, 8.0, 10.0794]
    assert s.series(1, Fraction(1, 3), 11) == pytest.approx(true, abs=1e-4)
    assert s.stops_to_factor(Fraction(10, 3)) == pytest.approx(10.0794, abs=1e-4)
    assert s.factor_to_stops(10.0794 / 10) == pytest.approx(0.0114, abs=5e-5)
    assert s.factor_to_stops(1.25 / 1.2599) == pytest.approx(-0.0114, abs=5e-5)


# --- apertures --------------------------------------------------------------------------------

FULL_STOPS = "1 1.4 2 2.8 4 5.6 8 11 16 22 32 45 64"


@pytest.mark.parametrize(
    ("from_n", "to_n", "stops", "literal_factor", "literal_stops"),
    [
        (5.6, 8, 1, 2.0408, 1.0291),
        (8, 11, 1, 1.8906, 0.9189),
        (5.6, 11, 2, 3.8584, 1.9480),
        (4, 11, 3, 7.5625, 2.9189),
    ],
    ids=["5.6-8-D", "8-11-D", "5.6-11-D", "4-11-D"],
)
def test_engraved_numbers_do_not_drift(
    from_n: float, to_n: float, stops: int, literal_factor: float, literal_stops: float
) -> None:
    """Engraved numbers are whole stops apart, exactly, where the literal formula drifts (D)."""
    assert s.aperture_stops(from_n, to_n) == stops
    assert (to_n / from_n) ** 2 == pytest.approx(literal_factor, abs=5e-5)
    assert s.factor_to_stops((to_n / from_n) ** 2) == pytest.approx(literal_stops, abs=5e-5)


@pytest.mark.parametrize(
    ("engraved", "value"),
    [pytest.param(n, k, id=f"{n}-D") for k, n in enumerate(FULL_STOPS.split())],
)
def test_engraved_full_stops(engraved: str, value: int) -> None:
    """An engraved full stop stands for sqrt(2)**k exactly, and is that cut short (D)."""
    assert s.aperture_value(engraved) == value
    assert float(engraved) == pytest.approx(math.sqrt(2) ** value, rel=0.03)


@pytest.mark.parametrize("thirds", [False, True], ids=["halves-C", "thirds-C"])
def test_engraved_half_and_third_stops(thirds: bool) -> None:
    """Every engraving (C) lies within 5 % of the exact number it stands for (D)."""
    halves = "1.2 1.7 2.4 3.3 4.8 6.7 9.5 13 19 27 38 54"
    third = "1.1 1.2 1.6 1.8 2.2 2.5 3.2 3.5 4.5 5 6.3 7.1 9 10 13 14 18 20 25 29 36 40 51 57"
    parts = {Fraction(1, 3), Fraction(2, 3)} if thirds else {Fraction(1, 2)}
    for engraved in (third if thirds else halves).split():
        value = s.aperture_value(engraved, thirds=thirds)
        assert value % 1 in parts
        assert float(engraved) == pytest.approx(2 ** (value / 2), rel=0.05)


# --- the same arithmetic, where it is met elsewhere --------------------------------------------


@pytest.mark.parametrize(
    ("density", "stops"),
    [(0.15, 0.4983), (0.30, 0.9966), (0.60, 1.9932), (3.00, 9.9658)],
    ids=lambda v: f"{v}-D",
)
def test_density_in_stops(density: float, stops: float) -> None:
    """Density is on the log exposure scale: D / 0.30103 stops (D).

    3.00 is the span of a tablet of 21 steps of 0.15 (V: capefearpress.com): not 10 stops.
    """
    assert s.log_exposure_to_stops(density) == pytest.approx(stops, abs=5e-5)


@pytest.mark.parametrize(
    ("percent", "seconds"),
    [(0, 20.00), (6, 18.80), (8, 18.40), (10, 18.00), (12, 17.60), (14, 17.20)],
    ids=lambda v: f"{v}-D",
)
def test_dry_down_of_twenty_seconds(percent: float, seconds: float) -> None:
    """Twenty seconds less so many percent, by way of stops and back (D)."""
    assert 20 * s.stops_to_factor(s.percent_to_stops(-percent)) == pytest.approx(seconds, abs=1e-9)


def test_a_quarter_stop_of_dry_down() -> None:
    """A quarter stop, the most a matt paper dries down, is 15.9 % (V stop; percent D).

    Source of the quarter stop: rogerandfrances.com, emmgphoto.eclipse.co.uk, "Drydown".
    """
    assert s.stops_to_percent(Fraction(-1, 4)) == pytest.approx(-15.9, abs=0.05)


def test_two_burns_of_a_stop_are_not_two_stops() -> None:
    """A base and two burns of +1 are three times the base: 1.585 stop (D)."""
    burn = s.stops_to_percent(1) / 100
    assert s.factor_to_stops(1 + 2 * burn) == pytest.approx(1.585, abs=1e-3)


@pytest.mark.parametrize(
    ("percent", "stops"),
    [(-10, -0.520), (-5, -0.253), (-2, -0.100), (2, 0.098), (5, 0.241)],
    ids=lambda v: f"{v}-D",
)
def test_mains_voltage_in_stops_of_light(percent: float, stops: float) -> None:
    """Flux goes with voltage to the power 3.42 (exponent V: Field Guide to Illumination, 2007).

    It is current to the 6.5 over voltage to the 1.9; the stops are D.
    """
    assert 3.42 * s.percent_to_stops(percent) == pytest.approx(stops, abs=6e-4)


@pytest.mark.parametrize(
    ("half_cycle_s", "time_s", "stops"),
    [
        (0.010, 0.5, 0.0286),
        (0.010, 1, 0.0144),
        (0.010, 2, 0.0072),
        (0.010, 5, 0.0029),
        (1 / 120, 0.5, 0.0239),
        (1 / 120, 1, 0.0120),
        (1 / 120, 2, 0.0060),
        (1 / 120, 5, 0.0024),
    ],
    ids=lambda v: f"{v:.3g}-D",
)
def test_a_half_cycle_of_the_mains_in_stops(
    half_cycle_s: float, time_s: float, stops: float
) -> None:
    """One half-cycle too many is so many stops, to a ten-thousandth (D)."""
    assert s.factor_to_stops(1 + half_cycle_s / time_s) == pytest.approx(stops, abs=1e-4)


@pytest.mark.parametrize(
    ("lag_s", "pulses", "errors"),
    [
        (0.05, 4, (-0.0275, -0.0136, -0.0068)),
        (0.05, 8, (-0.0650, -0.0320, -0.0159)),
        (0.10, 4, (-0.0559, -0.0275, -0.0136)),
        (0.10, 8, (-0.1339, -0.0650, -0.0320)),
    ],
    ids=lambda v: f"{v}-D",
)
def test_many_pulses_against_one(lag_s: float, pulses: int, errors: tuple[float, ...]) -> None:
    """Each pulse of a lamp loses its lag, so many pulses are short of one by so many stops (D)."""
    for time_s, stops in zip((8, 16, 32), errors, strict=True):
        factor = (time_s - pulses * lag_s) / (time_s - lag_s)
        assert s.factor_to_stops(factor) == pytest.approx(stops, abs=1e-4)
