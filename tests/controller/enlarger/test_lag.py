"""The lag strip: what it brackets, and the two numbers of it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.enlarger.lag import (
    LagReading,
    LagStrip,
    finer,
    partner,
    plan_lag,
    read_lag,
    reading_in,
    remark_of,
    two_numbers,
)
from controller.enlarger.lamp import Calibration
from controller.errors import BadInput


def test_the_lag_lies_midway_in_the_bracket() -> None:
    """Lighter at 60 ms and darker at 120 ms: 90 ms, give or take 30."""
    reading = read_lag(LagStrip(), "C", "E")
    assert (reading.lag_s, reading.plus_minus_s) == pytest.approx((0.09, 0.03))
    second = finer(LagStrip(), reading)
    assert second.from_lag_s < 0.06
    assert second.to_lag_s > 0.12
    assert second.to_lag_s - second.from_lag_s < 0.1


@pytest.mark.parametrize(("lighter", "darker"), [("E", "C"), ("C", "C"), ("C", "Z"), ("?", "D")])
def test_what_brackets_nothing_is_refused(lighter: str, darker: str) -> None:
    """The last lighter patch lies before the first darker one, and both are on the strip."""
    with pytest.raises(BadInput):
        read_lag(LagStrip(), lighter, darker)


@given(st.floats(0.01, 0.3), st.floats(0, 0.1), st.floats(2, 10), st.floats(0.5, 1))
def test_two_readings_give_back_the_two_numbers(
    cold_s: float, warm: float, long_s: float, short_s: float
) -> None:
    """From lag = cold - warm / gap at two gaps."""
    readings = [LagReading(cold_s - warm / gap, 0.005, gap) for gap in (long_s, short_s)]
    numbers = two_numbers(*readings)
    assert numbers.cold_lag_s == pytest.approx(cold_s, abs=1e-9)
    assert numbers.warm_gain_s2 == pytest.approx(warm, abs=1e-9)


def test_one_reading_has_no_warm_gain_and_like_gaps_give_none() -> None:
    """Gaps nearer than a factor of two say nothing about warmth."""
    one = LagReading(0.1, 0.01, 4.0)
    assert two_numbers(one, None) == Calibration(0.1, 0.0)
    assert partner(one, [LagReading(0.1, 0.01, 3.0)]) is None
    with pytest.raises(BadInput):
        two_numbers(one, LagReading(0.1, 0.01, 3.0))


def test_a_reading_is_remembered_in_the_books_words() -> None:
    """The remark that keeps it is read back; other remarks are none."""
    strip = LagStrip()
    assert reading_in(strip, ["nice tone", remark_of("C", "E")]) == read_lag(strip, "C", "E")
    assert reading_in(strip, ["nice tone"]) is None


def test_each_patch_pairs_one_pulse_with_many() -> None:
    """Long and pulsed half have the same dose and the same assumed lag."""
    exposures = [e for _, e in plan_lag(LagStrip()).exposures()]
    assert len(exposures) == 14
    for long, pulsed in zip(exposures[::2], exposures[1::2], strict=True):
        assert (long.pulses, pulsed.pulses) == (1, 12)
        assert long.dose_s == pulsed.dose_s
        assert long.assumed_lag_s == pulsed.assumed_lag_s


@given(st.floats(0, 0.5), st.floats(0, 0.2), st.floats(0.05, 100), st.floats(0.3, 60))
def test_lag_is_never_negative_and_dose_turns_back(
    cold_s: float, warm: float, gap_s: float, dose_s: float
) -> None:
    """on-time of a dose gives the dose again, and a warm lamp never lags more than a cold one."""
    lamp = Calibration(cold_s, warm)
    assert 0 <= lamp.lag_s(gap_s) <= cold_s
    assert lamp.dose_s(lamp.on_time_s(dose_s, gap_s), gap_s) == pytest.approx(dose_s)
