"""The lamp's two numbers, and its tail, from the curve of light that a sensor sees.

No paper is needed: a long pulse shows full light, and pulses with long and short gaps show what
each lost. What a pulse lost is on-time less the light that fell, in seconds of its own steady
light, so that neither the sensor's scale nor a slow mains enters. The two numbers are fitted to
``lag = cold - warm / gap`` by least squares.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from controller.enlarger.lamp import Calibration, ns
from controller.errors import BadInput
from controller.exposing.around import BARE, Around
from controller.keeper import Cause
from controller.plan import Action, Confirm, Expose, Go, Plan
from controller.ports import Lens, Quantity, Reading

KIND = "lag by sensor"
LONG_S = 5.0
PULSE_S = 1.5
GAPS_S = (4.0, 2.0, 1.0)
PULSES = 5  # with each gap
RISEN_S = 0.6  # full light is taken from here on
DARK_S = 1.5  # after so long off no lamp glows any more, to a sensor
LEAST_READINGS = 8  # of a pulse's full light, to be sure of it
BRIDGED_NS = ns(0.3)  # of a longer silence nothing is known
EARLY_NS = ns(0.1)  # a reading may have begun so long before the light


@dataclass(frozen=True, slots=True)
class Lit:
    """A pulse by its measured edges; ``gap_s`` None: the lamp was cold."""

    on_ns: int
    off_ns: int
    gap_s: float | None


@dataclass(frozen=True, slots=True)
class Seen:
    """What the sensor showed: the lamp's numbers, and how it sees the lamp."""

    lamp: Calibration
    plus_minus_s: float  # of the lag: twice its standard deviation
    full: float
    dark: float
    tail_s: float
    pulses: int


def plan_lag_by_sensor(around: Around = BARE) -> Plan:
    """Make the plan: a long pulse, then short ones with each gap; one tap for each row."""
    actions: list[Action] = [Confirm("no paper out, lens capped", Lens("capped"))]
    rows = [("full light", LONG_S, 1, 0.0)]
    rows += [(f"gaps of {gap_s:g} s", PULSES * PULSE_S, PULSES, gap_s) for gap_s in GAPS_S]
    for label, dose_s, pulses, gap_s in rows:
        actions.append(Go(label, None, around.lead_in_s))
        actions.append(Expose(label, dose_s, pulses, gap_s, assumed_lag_s=0.0))
    return Plan(KIND, "lag by a sensor, no paper", tuple(actions), around.after())


def with_gaps(pulses: Sequence[tuple[int, int, Cause]]) -> list[Lit]:
    """Turn on and off edges, in order, into pulses with the gaps that really were.

    Those that were cut are left out, and still count for the gap of the next.
    """
    found: list[Lit] = []
    before_ns: int | None = None
    for on_ns, off_ns, cause in pulses:
        gap_s = None if before_ns is None else (on_ns - before_ns) / 1e9
        before_ns = off_ns
        if cause is Cause.DEADLINE:
            found.append(Lit(on_ns, off_ns, gap_s))
    return found


def fit(readings: Sequence[Reading], pulses: Sequence[Lit]) -> Seen:
    """Find the numbers in a curve of light. Raises BadInput where it does not show them."""
    curve = sorted(readings, key=lambda reading: reading.at_ns)
    if len(pulses) < 3:
        raise BadInput("too few pulses were made", "lag sensor", "a run that is not cut short")
    if any(reading.quantity is not Quantity.ILLUMINANCE for reading in curve):
        raise BadInput("this sensor gives no lux", "lag sensor", "a sensor of light in lux")
    if any(reading.saturated for reading in curve):
        raise BadInput(
            "the sensor has more light than it can tell",
            "lag sensor",
            "a place further from the lamp, or a grey filter over it",
        )
    dark = _dark(curve, pulses)
    lags: list[tuple[float, float]] = []  # 1 / gap, and what was lost
    tails: list[float] = []
    fulls: list[float] = []
    for pulse, following in zip(pulses, [*pulses[1:], None], strict=True):
        level = _level(curve, pulse) - dark
        if level <= 0.0:
            raise BadInput(
                "the sensor does not see the lamp", "lag sensor", "a sensor that looks at the lamp"
            )
        ends_ns = pulse.off_ns + ns(DARK_S)
        if following is not None:
            ends_ns = min(ends_ns, following.on_ns - EARLY_NS)
        fell_s = _sum(curve, pulse.on_ns - EARLY_NS, ends_ns, dark) / level
        lost_s = (pulse.off_ns - pulse.on_ns) / 1e9 - fell_s
        lags.append((0.0 if pulse.gap_s is None else 1 / pulse.gap_s, lost_s))
        tails.append(_tail_s(curve, pulse, ends_ns, dark, level))
        fulls.append(level + dark)
    cold_s, warm_s2, scatter_s = _line(lags)
    if not -0.1 <= cold_s <= 2 or warm_s2 > 2:
        raise BadInput(
            f"a lag of {cold_s:.3f} s is no lamp's", "lag sensor", "a sensor that is quick enough"
        )
    tail_s = min(2.0, max(0.0, sum(tails) / len(tails)))
    return Seen(
        Calibration(cold_s, warm_s2),
        2 * scatter_s / math.sqrt(len(lags)),
        fulls[0],
        dark,
        tail_s,
        len(lags),
    )


# --- inside ---------------------------------------------------------------------------------


def _level(curve: Sequence[Reading], pulse: Lit) -> float:
    begin_ns = pulse.on_ns + ns(RISEN_S)
    found = [
        reading.value
        for reading in curve
        if begin_ns <= reading.at_ns - reading.over_ns and reading.at_ns <= pulse.off_ns
    ]
    if len(found) < LEAST_READINGS:
        raise BadInput(
            f"the sensor gave {len(found)} readings of a pulse's full light",
            "lag sensor",
            f"{LEAST_READINGS} at least: a quicker mode of the sensor, or a smaller every_s",
        )
    return sum(found) / len(found)


def _dark(curve: Sequence[Reading], pulses: Sequence[Lit]) -> float:
    """Give the mean of what was read while the lamp was cold; 0 where nothing was."""
    values = []
    for pulse, following in zip(pulses, [*pulses[1:], None], strict=True):
        from_ns = pulse.off_ns + ns(DARK_S)
        to_ns = following.on_ns if following else curve[-1].at_ns if curve else from_ns
        values += [r.value for r in curve if from_ns <= r.at_ns - r.over_ns and r.at_ns <= to_ns]
    return sum(values) / len(values) if values else 0.0


def _pieces(curve: Sequence[Reading]) -> Iterator[tuple[int, int, float]]:
    """Give the curve as pieces of steady light; what lies between two readings is their mean."""
    until_ns: int | None = None
    last = 0.0
    for reading in curve:
        begin_ns = reading.at_ns - reading.over_ns
        if until_ns is not None:
            begin_ns = max(begin_ns, until_ns)
            if until_ns < begin_ns < until_ns + BRIDGED_NS:
                yield until_ns, begin_ns, (last + reading.value) / 2
        if reading.at_ns > begin_ns:
            yield begin_ns, reading.at_ns, reading.value
        until_ns, last = reading.at_ns, reading.value


def _sum(curve: Sequence[Reading], from_ns: int, to_ns: int, dark: float) -> float:
    whole = 0.0
    for begin_ns, end_ns, value in _pieces(curve):
        shared_ns = min(end_ns, to_ns) - max(begin_ns, from_ns)
        if shared_ns > 0:
            whole += (value - dark) * shared_ns / 1e9
    return whole


def _tail_s(curve: Sequence[Reading], pulse: Lit, to_ns: int, dark: float, level: float) -> float:
    """Give what fell after the lamp was put off.

    The piece in which that was is taken as a whole, less the full light before.
    """
    from_ns = pulse.off_ns
    for begin_ns, end_ns, _ in _pieces(curve):
        if begin_ns <= pulse.off_ns < end_ns:
            from_ns = begin_ns
    return _sum(curve, from_ns, to_ns, dark) / level - (pulse.off_ns - from_ns) / 1e9


def _line(points: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """Fit lag = cold - warm * x; gives cold, warm (never below 0), and the scatter about it."""
    n = len(points)
    mean_x, mean_y = sum(x for x, _ in points) / n, sum(y for _, y in points) / n
    spread = sum((x - mean_x) ** 2 for x, _ in points)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / spread if spread else 0.0
    warm = max(0.0, -slope)
    cold = mean_y + warm * mean_x
    missed = sum((y - cold + warm * x) ** 2 for x, y in points)
    return cold, warm, math.sqrt(missed / max(1, n - 2))
