"""What is read out of the book: plain data, without a trace of the database.

Wall times are aware and in UTC; edges are monotonic nanoseconds of the boot they were made in.
"""

from __future__ import annotations

from datetime import datetime
from enum import Enum

import msgspec

from controller.events import Fate
from controller.keeper import Cause


class Judged(Enum):
    """How a strip was looked at: wet paper looks lighter than it dries down to."""

    WET = "wet"
    DRY = "dry"


class RunKind(Enum):
    """What a run is of its record."""

    FIRST = "first"  # the plan as a whole
    EXTRA = "extra"  # more light for a sheet that had its plan


class RunEntry(msgspec.Struct, frozen=True):
    """What was carried out for a record; ``fate`` is None as long as it was not ended.

    ``spec`` and ``plan`` are JSON text; the spec of an extra says what was added. ``mark`` is
    the sheet of an extra, and empty in a first run.
    """

    number: int
    kind: RunKind
    mark: str
    plan: str
    spec: str
    begun_at: datetime
    fate: Fate | None


class Record(msgspec.Struct, frozen=True):
    """What was made by one plan. ``ended_at`` and ``fate`` are None as long as it was not ended.

    ``spec`` and ``plan`` are JSON text, those of the first run; ``lamp`` is the calibration it
    was counted with. ``extra_open``: an extra on one of its sheets was begun and never ended.
    """

    record_id: str
    kind: str
    title: str
    spec: str
    plan: str
    lamp: dict[str, float]
    rig: str
    begun_at: datetime
    ended_at: datetime | None
    fate: Fate | None
    reason: str
    marks: tuple[str, ...] = ()
    extra_open: bool = False


class SheetEntry(msgspec.Struct, frozen=True):
    """A sheet of a record. Sizes are None where only its exposures are known.

    ``moved``: has it been moved since the run was cut off? None: nobody said.
    """

    mark: str
    width_mm: float | None
    height_mm: float | None
    begun_at: datetime
    ended_at: datetime | None
    fate: Fate | None
    moved: bool | None


class PulseEntry(msgspec.Struct, frozen=True):
    """A pulse with its measured edges; ``asked_ns`` is None where only the edges were found."""

    pulse_id: int
    on_ns: int
    off_ns: int
    asked_ns: int | None
    cause: Cause

    @property
    def on_time_s(self) -> float:
        """How long the output was on, in seconds."""
        return (self.off_ns - self.on_ns) / 1e9


class ExposureEntry(msgspec.Struct, frozen=True):
    """An exposure as it was intended, and as it really was; ``run`` is the number of its run.

    ``delivered_dose_s`` and ``full`` are None as long as that is not known; ``low_s`` and
    ``high_s`` then bound the dose, where even that was settled.
    """

    number: int
    mark: str
    label: str
    dose_s: float
    pulses_wanted: int
    first_pulse: int
    resumed: bool
    intended_at: datetime
    delivered_dose_s: float | None
    full: bool | None
    low_s: float | None
    high_s: float | None
    pulses: tuple[PulseEntry, ...] = ()
    run: int = 1
    filter: str = ""

    @property
    def bounds_s(self) -> tuple[float, float]:
        """Give the least and the most that the paper can have got, in seconds of dose."""
        if self.delivered_dose_s is not None:
            return self.delivered_dose_s, self.delivered_dose_s
        low_s = self.low_s if self.low_s is not None else 0.0
        return low_s, self.high_s if self.high_s is not None else self.dose_s


class RemarkEntry(msgspec.Struct, frozen=True):
    """A remark; with a ``label`` it says that this patch is not to be trusted."""

    mark: str
    label: str
    text: str
    at: datetime


class Pick(msgspec.Struct, frozen=True):
    """The exposure that a strip was judged to need.

    ``choice`` is a patch ("C") or lies between two ("C-D"); ``unsure`` has those of them that
    a remark tells not to trust. ``subject`` says of what, where there is no record.
    """

    record_id: str | None
    subject: str
    choice: str
    dose_s: float
    stops: float
    judged: Judged
    filter: str
    at: datetime
    unsure: tuple[str, ...] = ()

    def warning(self) -> str:
        """Give a sentence that warns of unsure patches, or nothing."""
        if not self.unsure:
            return ""
        one = len(self.unsure) == 1
        names = " and ".join(self.unsure)
        return f"patch{'' if one else 'es'} {names} {'was' if one else 'were'} marked unsure"


class LampEntry(msgspec.Struct, frozen=True):
    """A lamp's two numbers as they were measured, with their uncertainty and by what means."""

    output: str
    cold_lag_s: float
    warm_gain_s2: float
    uncertainty_s: float | None
    how: str
    at: datetime


class DryDownEntry(msgspec.Struct, frozen=True):
    """By how many percent less a paper is to be exposed, since it darkens in drying.

    ``batch`` is empty where it was found for the paper at large; ``record_id`` is the test
    that told it, None where it was told by hand.
    """

    paper: str
    batch: str
    percent: float
    record_id: str | None
    how: str
    at: datetime


class Page(msgspec.Struct, frozen=True):
    """All that the book holds of one record."""

    record: Record
    sheets: tuple[SheetEntry, ...]
    exposures: tuple[ExposureEntry, ...]
    remarks: tuple[RemarkEntry, ...]
    picks: tuple[Pick, ...]
    runs: tuple[RunEntry, ...] = ()
