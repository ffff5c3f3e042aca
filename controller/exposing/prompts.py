"""What is said at each prompt, and the choices of a long press."""

from __future__ import annotations

from collections.abc import Sequence

from controller.exposing.told import Choice
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


# What cannot be taken back is asked once more.
FINAL = frozenset({Choice.SPOILED, Choice.END})


class Choices:
    """Choices that are spoken one by one; a tap takes the one spoken when the foot went down."""

    def __init__(self, *, exposed: bool, filtered: bool, laid: bool) -> None:
        # nothing can have moved late before anything was exposed, nor a sheet be spoiled that
        # does not lie there
        without = {
            Choice.UNSURE: not exposed,
            Choice.WRONG_FILTER: not filtered,
            Choice.SPOILED: not laid,
        }
        self._left = [choice for choice in Choice if not without.get(choice)]
        self._held: Choice | None = None
        self._sure: Choice | None = None

    @property
    def spoken(self) -> Choice | None:
        """Give the choice that is being offered; None when all have been spoken."""
        return self._left[0] if self._left else None

    def cue(self) -> Cue:
        """Give the words of the choice that is being offered."""
        assert self._left
        again = "; tap again" if self._sure else ""
        return Cue(f"{self._left[0].value}{again}", Sound.PROMPT, Wants.CHOICE)

    def hold(self) -> None:
        """The foot went down: what was spoken then is meant, however long it stays there."""
        self._held = self.spoken

    def take(self) -> Choice | None:
        """The foot came up: give what is taken, or None where it must be asked once more."""
        held, self._held = self._held, None
        if held in FINAL and self._sure is not held:
            self._left = [held]
            self._sure = held
            return None
        return held

    def pass_on(self) -> None:
        """Leave this choice, since it was met with silence."""
        self._left.pop(0)
        self._sure = None
