"""A plan: flat data that says what will be done, in order, and nothing of how.

A plan can be printed, compared, walked through without hardware, and is saved with the record.
It holds doses (seconds of full light); on-times are made of them at the last moment, from the
lamp's calibration and the gap that really was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import msgspec

from controller.ports import Hands, Shade, Sound

PLAN_VERSION = 1
SAME_S = 0.001  # doses closer than this are the same: far below what any lamp can do


class Sheet(msgspec.Struct, frozen=True, tag="sheet"):
    """A fresh sheet is laid; the runner gives it the next mark. One tap says it lies there."""

    width_mm: float
    height_mm: float
    say: str = "new sheet"
    place: str = ""  # the part of the picture that a small piece is laid on


class Confirm(msgspec.Struct, frozen=True, tag="confirm"):
    """Something for the hands to do; one tap says it is done, and lights nothing."""

    say: str
    hands: Hands | None = None
    unless_so: bool = False  # passed over where what it asks for stands there already


class Go(msgspec.Struct, frozen=True, tag="go"):
    """Wait for the tap after which light follows, with ``lead_in_s`` for the bench to settle.

    ``after_s``: go by itself so long after the prompt (only if asked for).
    """

    say: str
    hands: Hands | None = None
    lead_in_s: float = 1.5
    after_s: float | None = None


class Curtain(msgspec.Struct, frozen=True, tag="curtain"):
    """Make the screen black, or lift it again."""

    down: bool


class Lights(msgspec.Struct, frozen=True, tag="lights"):
    """Switch safelights and other lights, then wait for afterglow or warm-up."""

    lit: dict[str, bool]
    settle_s: float = 0.0


class Handwork(msgspec.Struct, frozen=True):
    """A tool in the beam during an exposure, from one dose of it to another.

    Counted in dose, so that a pause in the middle of it changes nothing.
    """

    shade: Shade
    begin_s: float
    end_s: float


class Expose(msgspec.Struct, frozen=True, tag="expose"):
    """Give the paper a dose, in one pulse or in a series of equal ones with a gap between.

    ``label`` names the exposure and is its own within the plan. ``handwork`` may overlap; it
    needs a single pulse.
    """

    label: str
    dose_s: float
    pulses: int = 1
    gap_s: float = 0.0
    ticks: bool = False
    handwork: tuple[Handwork, ...] = ()
    filter: str = ""  # the one in the light, for the record
    output: str = "lamp"
    assumed_lag_s: float | None = None  # instead of the lamp's own (a lag strip tries several)
    doubtful: tuple[str, ...] = ()  # what is not to be trusted if card or window moved late


class Shine(msgspec.Struct, frozen=True, tag="shine"):
    """Light the lamp where no paper can see it (focusing, warming up), for so long at most.

    A press of the pedal ends it. With ``opens_lens`` the lens counts as open afterwards.
    """

    say: str
    limit_s: float
    opens_lens: bool = False
    output: str = "lamp"


class Dwell(msgspec.Struct, frozen=True, tag="dwell"):
    """Leave the paper in the light of the room for so long, the enlarger dark.

    ``lit`` names the lights that burn meanwhile and are off before and after; with ``screen``
    the curtain is lifted meanwhile. ``label`` is its own within the plan, as an exposure's is.
    """

    label: str
    time_s: float
    lit: tuple[str, ...] = ()
    screen: bool = False
    doubtful: tuple[str, ...] = ()  # what is not to be trusted if the card moved late


class Wait(msgspec.Struct, frozen=True, tag="wait"):
    """Let time pass that nobody can hurry, such as a developer's; told by ear."""

    say: str
    time_s: float


class Say(msgspec.Struct, frozen=True, tag="say"):
    """Tell something that waits for nothing."""

    text: str
    sound: Sound | None = None


Action: TypeAlias = Sheet | Confirm | Go | Curtain | Lights | Expose | Shine | Dwell | Wait | Say
LIGHT = Expose | Shine | Dwell  # what lets light fall


class Plan(msgspec.Struct, frozen=True):
    """What will be done, and what is done afterwards however it ends (``after``)."""

    kind: str  # "strip", "lag strip", "focus"
    title: str
    actions: tuple[Action, ...]
    after: tuple[Curtain | Lights, ...] = ()
    version: int = PLAN_VERSION

    def __post_init__(self) -> None:
        """Refuse a plan in which light could fall without a go."""
        gone = False
        for _, expose in self.exposures():
            ends = [work.end_s for work in expose.handwork]
            if ends and (expose.pulses > 1 or max(ends) > expose.dose_s + SAME_S):
                raise ValueError(f"the handwork of {expose.label!r} does not fit its exposure")
        for index, action in enumerate(self.actions):
            if isinstance(action, Go):
                gone = True
            elif isinstance(action, LIGHT | Lights) or action == Curtain(True):
                if not gone:
                    raise ValueError(f"action {index} of {self.title!r} needs a go before it")
                gone = not isinstance(action, LIGHT)

    def exposures(self) -> Iterator[tuple[int, Expose]]:
        """Give each exposure with its place in the plan."""
        for index, action in enumerate(self.actions):
            if isinstance(action, Expose):
                yield index, action

    def lines(self) -> list[str]:
        """Tell the plan in words, a line for each action."""
        return [describe(action) for action in self.actions]

    def to_json(self) -> str:
        """Write the plan as JSON text."""
        return msgspec.json.encode(self).decode()

    @staticmethod
    def from_json(text: str | bytes) -> Plan:
        """Read a plan; raises ``msgspec.ValidationError`` naming the field that is wrong."""
        return msgspec.json.decode(text, type=Plan)


def light_s(plan: Plan, at: int) -> float:
    """Say how long the light after one action lasts, up to the next that waits for a tap."""
    lasts_s = 0.0
    for action in plan.actions[at + 1 :]:
        match action:
            case Sheet() | Confirm() | Go() | Shine():
                break
            case Expose(dose_s=dose_s, pulses=pulses, gap_s=gap_s):
                lasts_s += dose_s + (pulses - 1) * gap_s
            case Dwell(time_s=time_s) | Wait(time_s=time_s):
                lasts_s += time_s
            case _:
                pass
    return lasts_s


def describe(action: Action) -> str:
    """Tell one action in words."""
    match action:
        case Sheet(say=say):
            return f"{say}; tap when it lies there"
        case Confirm(say=say, unless_so=True):
            return f"{say}, if it is not; tap when done"
        case Confirm(say=say):
            return f"{say}; tap when done"
        case Go(say=say, after_s=None):
            return f"{say}; tap to go"
        case Go(say=say, after_s=after_s):
            return f"{say}; goes by itself after {after_s:g} s"
        case Curtain(down=down):
            return "screen black" if down else "screen back"
        case Lights(lit=lit):
            return ", ".join(f"{name} {'on' if on else 'off'}" for name, on in lit.items())
        case Expose(pulses=1):
            works = "".join(
                f"; {work.shade.name} held back from {work.begin_s:.1f} to {work.end_s:.1f} s"
                for work in action.handwork
            )
            return f"expose {action.label}: {action.dose_s:.2f} s{works}"
        case Expose():
            each_s = action.dose_s / action.pulses
            return f"expose {action.label}: {action.pulses} pulses of {each_s:.2f} s"
        case Shine(say=say, limit_s=limit_s):
            return f"{say}, {limit_s:g} s at most"
        case Dwell(label=label, time_s=time_s, lit=lit):
            where = " and ".join((*lit, *(("the screen",) if action.screen else ())))
            return f"{label}: {time_s:g} s under {where or 'no light at all'}"
        case Wait(say=say, time_s=time_s):
            return f"{say}: {time_s:g} s"
        case Say(text=text):
            return f"say {text!r}"


def sheet_begins(actions: Sequence[Action], at: int) -> int | None:
    """Say where the sheet in hand at ``at`` begins; None where the plan lays none.

    It begins with what is asked for at the enlarger before it is laid.
    """
    laid = [i for i, action in enumerate(actions[: at + 1]) if isinstance(action, Sheet)]
    if not laid:
        return None
    begins = laid[-1]
    while begins > 0 and isinstance(actions[begins - 1], Confirm):
        begins -= 1
    return begins
