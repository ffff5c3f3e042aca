"""The lag strip: a lamp's two numbers, found by eye and without an instrument.

Each patch pairs one long pulse with many short ones that should add up to the same dose, and
each patch assumes another lag. Where the assumed lag is too small the short pulses fall short
and the pulsed half is lighter; where it is too large it is darker. The lag lies between. A run
with the gaps that strips have gives the lag at those gaps; a second with short gaps gives the
warm gain.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from controller.enlarger.lamp import Calibration
from controller.errors import BadInput
from controller.exposing.around import BARE, Around
from controller.plan import Action, Confirm, Expose, Go, Plan, Sheet
from controller.ports import Lens, Move
from controller.strips.strip import LETTERS

FINER_PATCHES = 9
# Lags nearer than this to the true one may look alike: 0.02 density at a gamma of 1.2 is 13 ms of
# lag for pulses of 0.33 s, and an eye has its better and worse days.
JUST_TOLD_S = 0.03


class LagStrip(BaseModel):
    """A lag strip as it is wanted; version 1."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    from_lag_s: float = Field(0.0, ge=-0.1, le=2, description="lag assumed for patch A")
    to_lag_s: float = Field(0.18, ge=-0.1, le=2, description="lag assumed for the last patch")
    patches: int = Field(7, ge=3, le=13)
    pulses: int = Field(12, ge=12, le=60, description="short pulses in each pulsed half")
    pulse_s: float = Field(0.33, ge=0.3, le=2, description="dose of each of them")
    gap_s: float = Field(4.0, ge=0.5, le=30, description="time off between them")
    width_mm: float = Field(203, gt=0)
    height_mm: float = Field(25, gt=0)

    @model_validator(mode="after")
    def _spread(self) -> LagStrip:
        if self.to_lag_s <= self.from_lag_s:
            raise ValueError("the last lag must be larger than the first")
        return self

    def lags_s(self) -> list[float]:
        """Give the lag that each patch assumes, evenly spread."""
        step = (self.to_lag_s - self.from_lag_s) / (self.patches - 1)
        return [self.from_lag_s + step * i for i in range(self.patches)]


def plan_lag(strip: LagStrip, around: Around = BARE) -> Plan:
    """Make the plan: a window over each half in turn; the pulses of a half follow by themselves."""
    dose_s = strip.pulses * strip.pulse_s
    actions: list[Action] = [
        Confirm("hardest filter in, no negative, lens closed to a mid-tone", Lens("working")),
        Sheet(strip.width_mm, strip.height_mm, "new strip, A at the left"),
    ]
    for index, lag_s in enumerate(strip.lags_s()):
        letter = LETTERS[index]
        for half, (name, pulses) in enumerate((("long", 1), ("pulsed", strip.pulses))):
            move = Move("window", 2 * index + half, 2 * strip.patches, "left")
            actions.append(Go(f"window on {letter} {name}", move, around.lead_in_s))
            if not index and not half:
                actions += around.darken()
            gap_s = strip.gap_s if pulses > 1 else 0.0
            label = f"{letter} {name}"
            actions.append(Expose(label, dose_s, pulses, gap_s, assumed_lag_s=lag_s))
    title = (
        f"lag strip, {strip.from_lag_s * 1000:.0f} to {strip.to_lag_s * 1000:.0f} ms, "
        f"gaps of {strip.gap_s:g} s"
    )
    return Plan("lag strip", title, tuple(actions), around.after())


@dataclass(frozen=True, slots=True)
class LagReading:
    """A lag that was read from a strip, with half the bracket as its uncertainty."""

    lag_s: float
    plus_minus_s: float
    gap_s: float


def read_lag(strip: LagStrip, lighter: str, darker: str) -> LagReading:
    """Turn what the eye saw into a lag.

    ``lighter``: the last patch whose pulsed half is visibly lighter than its long half;
    ``darker``: the first whose pulsed half is visibly darker. Raises BadInput where they do
    not bracket anything.
    """
    lags = dict(zip(LETTERS, strip.lags_s(), strict=False))
    last = LETTERS[strip.patches - 1]
    for option, letter in (("--lighter", lighter), ("--darker", darker)):
        if letter not in lags:
            raise BadInput(f"there is no patch {letter!r} on this strip", option, f"A to {last}")
    if lags[lighter] >= lags[darker]:
        raise BadInput(
            f"the pulsed half of {lighter} cannot be lighter where that of {darker} is darker",
            "--darker",
            f"a patch after {lighter}",
        )
    low_s, high_s = lags[lighter], lags[darker]
    return LagReading((low_s + high_s) / 2, (high_s - low_s) / 2, strip.gap_s)


def finer(strip: LagStrip, reading: LagReading) -> LagStrip:
    """Give a second strip that looks closer at what the first one bracketed."""
    margin_s = max(1.25 * reading.plus_minus_s, JUST_TOLD_S)
    return strip.model_copy(
        update={
            "from_lag_s": max(-0.1, reading.lag_s - margin_s),
            "to_lag_s": reading.lag_s + margin_s,
            "patches": FINER_PATCHES,
        }
    )


def two_numbers(long_gap: LagReading, short_gap: LagReading | None) -> Calibration:
    """Make a lamp's two numbers of one or two readings.

    From ``lag = cold - warm / gap`` at two gaps; with one reading the warm gain is zero. The
    two runs must differ in their gaps by a factor of two at least.
    """
    if short_gap is None:
        return Calibration(long_gap.lag_s, 0.0)
    if long_gap.gap_s < 2 * short_gap.gap_s:
        raise BadInput(
            f"gaps of {short_gap.gap_s:g} and {long_gap.gap_s:g} s are too near each other",
            "lag strip",
            "a second strip with gaps of half the length or less",
        )
    slope = 1 / short_gap.gap_s - 1 / long_gap.gap_s
    warm = max(0.0, (long_gap.lag_s - short_gap.lag_s) / slope)
    return Calibration(long_gap.lag_s + warm / long_gap.gap_s, warm)


def remark_of(lighter: str, darker: str) -> str:
    """Write what the eye saw as a remark in the strip's record."""
    return f"read: pulsed half lighter at {lighter}, darker at {darker}"


def reading_in(strip: LagStrip, remarks: Iterable[str]) -> LagReading | None:
    """Find the newest reading among a record's remarks."""
    found = None
    for text in remarks:
        match = re.fullmatch(r"read: pulsed half lighter at ([A-Z]), darker at ([A-Z])", text)
        if match:
            found = read_lag(strip, match[1], match[2])
    return found


def partner(reading: LagReading, others: Iterable[LagReading]) -> LagReading | None:
    """Find a reading whose gaps differ enough to give the warm gain; the first of ``others``."""
    for other in others:
        if max(other.gap_s, reading.gap_s) >= 2 * min(other.gap_s, reading.gap_s):
            return other
    return None


def with_partner(
    reading: LagReading, others: Iterable[LagReading], warm_gain_s2: float = 0.0
) -> Calibration:
    """Make a lamp's numbers of a reading and the newest one whose gaps differ enough.

    Where there is none, ``warm_gain_s2`` is kept as it was known before.
    """
    second = partner(reading, others)
    if second is None:
        return Calibration(reading.lag_s + warm_gain_s2 / reading.gap_s, warm_gain_s2)
    short, long = sorted((reading, second), key=lambda each: each.gap_s)
    return two_numbers(long, short)
