"""What the runner is told, and what it tells: plain messages."""

from __future__ import annotations

from enum import Enum
from typing import TypeAlias

import msgspec

from controller.enlarger.lamp import Calibration
from controller.events import Event, RunBegun
from controller.keeper import Message, Reply
from controller.plan import Plan
from controller.ports import Cue, Reading


class Run(msgspec.Struct, frozen=True, tag="run"):
    """A plan to be carried out, with all that is fixed before it begins.

    ``mark`` and ``number`` are those of a sheet that lies there already, and of the last
    exposure its record holds: the rest of an interrupted one, or an ``extra`` on one that has
    all of its plan (what is added, as JSON text).
    """

    record_id: str
    plan: Plan
    spec: str = "{}"
    rig: str = ""
    mark: str = ""
    number: int = 0
    extra: str = ""
    edition: str = ""  # that its prints are for


def begun(run: Run, lamp: Calibration) -> RunBegun:
    """Tell the book that a run begins, and by which calibration its dose becomes time."""
    return RunBegun(
        run.record_id,
        run.plan.kind,
        run.plan.title,
        run.spec,
        run.plan.to_json(),
        {"cold_lag_s": lamp.cold_lag_s, "warm_gain_s2": lamp.warm_gain_s2},
        run.rig,
        continues=bool(run.mark),
        mark=run.mark,
        extra=run.extra,
        edition=run.edition,
    )


class Press(msgspec.Struct, frozen=True, tag="press"):
    """The pedal went down, or came up (bounce already taken away)."""

    down: bool


class PedalGone(msgspec.Struct, frozen=True, tag="pedal-gone"):
    """A pedal was unplugged. ``down``: while it was pressed; ``last``: no other can stop light."""

    down: bool
    last: bool


class CurtainIs(msgspec.Struct, frozen=True, tag="curtain-is"):
    """The screen says that it is black, or that it could not be."""

    down: bool


class Noted(msgspec.Struct, frozen=True, tag="noted"):
    """The book holds the intention with this number."""

    number: int


class BoxIs(msgspec.Struct, frozen=True, tag="box-is"):
    """The box of paper was opened, or shut."""

    open: bool


class Wish(Enum):
    """What can be asked for without a pedal."""

    PAUSE = "pause"
    ABANDON = "abandon"
    SPOILED = "spoiled"
    UNSURE = "unsure"
    WRONG_FILTER = "wrong filter"


Input: TypeAlias = Press | PedalGone | CurtainIs | Noted | BoxIs | Wish | Reply | Reading


class LowerCurtain(msgspec.Struct, frozen=True, tag="lower"):
    """Make the screen black (and say so when it is), or lift it."""

    down: bool


Output: TypeAlias = Cue | Message | LowerCurtain | Event


class Choice(Enum):
    """What a long press offers, in the order in which it is spoken."""

    GO_ON = "go on"
    UNSURE = "card moved late"
    WRONG_FILTER = "wrong filter"
    SPOILED = "spoiled"
    END = "end"
