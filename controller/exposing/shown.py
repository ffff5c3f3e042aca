"""What can be shown of a run: the runner's state and the lamp in its hand, as one view."""

from __future__ import annotations

from controller.exposing.bench import LIGHT, Bench, State, View
from controller.exposing.lit import InHand
from controller.plan import Dwell, Expose
from controller.ports import Cue, Wants


def view_of(
    state: State,
    said: Cue,
    hand: InHand,
    *,
    mark: str,
    until_ns: int | None,
    action: int,
    bench: Bench,
    curtain: bool,
) -> View:
    """Show where a run is.

    ``said`` is the last prompt, ``until_ns`` when the present state has lasted long enough,
    ``action`` the place in the plan, ``bench`` what lights and enlarger really are.
    """
    asked = hand.asked
    return View(
        state=state,
        wants=said.wants if state not in LIGHT else Wants.NOTHING,
        text=said.text,
        mark=mark,
        label=asked.label if asked else hand.last_label,
        dose_s=_wanted_s(asked),
        left_s=hand.left_s,
        lit_ns=hand.lit_ns,
        until_ns=hand.ends_ns if hand.ends_ns is not None else until_ns,
        action=action,
        lit=dict(bench.lit),
        curtain=curtain,
        standing=bench.standing(),
    )


def _wanted_s(asked: Expose | Dwell | None) -> float:
    match asked:
        case Expose(dose_s=dose_s):
            return dose_s
        case Dwell(time_s=time_s):
            return time_s
    return 0.0
