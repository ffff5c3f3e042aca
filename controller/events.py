"""What happened: the runner's events, which the book keeps.

Edges are the keeper's measured ones, in monotonic nanoseconds; the wall clock is added by
whoever writes the book, and is used for nothing else.
"""

from __future__ import annotations

from enum import Enum
from typing import TypeAlias

import msgspec

from controller.keeper import Cause


class Fate(Enum):
    """How a sheet, or a whole run, came out."""

    DONE = "done"
    SPOILED = "spoiled"
    ABANDONED = "abandoned"
    INTERRUPTED = "interrupted"


class RunBegun(msgspec.Struct, frozen=True, tag="run-begun"):
    """A plan begins. ``spec`` and ``plan`` are JSON text; ``lamp`` is the calibration used.

    ``mark`` is the sheet that lies there already. ``extra`` says, as JSON text, what a finished
    sheet of the record is given on top; it is empty where this is no extra.
    """

    record_id: str
    kind: str
    title: str
    spec: str
    plan: str
    lamp: dict[str, float]
    rig: str
    continues: bool = False  # the rest of an interrupted run, or an extra, of the same id
    mark: str = ""
    extra: str = ""
    edition: str = ""  # that its prints are for


class SheetBegun(msgspec.Struct, frozen=True, tag="sheet-begun"):
    """A sheet lies under the enlarger."""

    record_id: str
    mark: str
    width_mm: float
    height_mm: float


class Intended(msgspec.Struct, frozen=True, tag="intended"):
    """Light is about to fall: written, durably, before it does.

    ``number`` counts the exposures of the record; ``label`` is the exposure's own in the plan.
    A resumed exposure is a new one under the same label, of what was left.
    """

    record_id: str
    number: int
    mark: str
    label: str
    dose_s: float
    pulses: int
    first_pulse: int  # number of its first pulse: what the keeper's journal is matched by
    resumed: bool = False
    filter: str = ""  # the one in the light, as the plan has it


class PulseMade(msgspec.Struct, frozen=True):
    """One pulse as it was: measured edges, and the on-time that had been asked for."""

    pulse_id: int
    on_ns: int
    off_ns: int
    asked_ns: int
    cause: Cause

    @property
    def on_time_s(self) -> float:
        """How long the output was on, in seconds."""
        return (self.off_ns - self.on_ns) / 1e9


class Made(msgspec.Struct, frozen=True, tag="made"):
    """An exposure that is over, full or not; ``delivered_dose_s`` by the calibration."""

    record_id: str
    number: int
    pulses: tuple[PulseMade, ...]
    delivered_dose_s: float
    full: bool


class SheetEnded(msgspec.Struct, frozen=True, tag="sheet-ended"):
    """What became of a sheet."""

    record_id: str
    mark: str
    fate: Fate


class RunEnded(msgspec.Struct, frozen=True, tag="run-ended"):
    """The plan is over; ``reason`` is a sentence where something went wrong."""

    record_id: str
    fate: Fate
    reason: str = ""


class Remark(msgspec.Struct, frozen=True, tag="remark"):
    """Something about the sheet that the printer, or the unit, wants remembered.

    Where ``mark`` is empty, the sheet on which ``label`` was lit last is meant, else the newest.
    """

    record_id: str
    text: str
    label: str = ""
    mark: str = ""


Event: TypeAlias = RunBegun | SheetBegun | Intended | Made | SheetEnded | RunEnded | Remark
