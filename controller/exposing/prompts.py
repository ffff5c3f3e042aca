"""What is said at each prompt."""

from __future__ import annotations

from collections.abc import Sequence

from controller.plan import Confirm, Go, Sheet
from controller.ports import Cue, NewSheet, Sound, Wants


def prompt_for(action: Sheet | Confirm | Go, mark: str) -> Cue:
    """Give the cue of a prompt; a new sheet is told the mark to be pencilled on its back."""
    match action:
        case Sheet():
            sheet = NewSheet(mark, action.width_mm, action.height_mm, action.place)
            return Cue(f"{action.say}, mark {mark}", Sound.PROMPT, Wants.CONFIRM, sheet)
        case Confirm():
            return Cue(action.say, Sound.PROMPT, Wants.CONFIRM, action.hands)
        case Go():
            return Cue(action.say, Sound.PROMPT, Wants.GO, action.hands)


def paused(left_s: float, tools: Sequence[str], *, doubtful: bool) -> Cue:
    """Give the cue of a paused exposure.

    ``left_s`` is the dose that is left, ``tools`` what is held back at once when it goes on;
    ``doubtful`` says that so little dose can not be trusted.
    """
    text = f"paused, {left_s:.1f} left"
    if doubtful:
        text += ", less than can be trusted"
    if tools:
        text += f"; then {' and '.join(tools)} held back"
    return Cue(text, Sound.PAUSED, Wants.GO)
