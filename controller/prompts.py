"""What is said at each prompt, and the choices of a long press."""

from __future__ import annotations

from controller.plan import Confirm, Go, Sheet
from controller.ports import Cue, NewSheet, Wants
from controller.told import Choice


def prompt_for(action: Sheet | Confirm | Go, mark: str) -> Cue:
    """Give the cue of a prompt; a new sheet is told the mark to be pencilled on its back."""
    match action:
        case Sheet():
            sheet = NewSheet(mark, action.width_mm, action.height_mm)
            return Cue(f"{action.say}, mark {mark}", None, Wants.CONFIRM, sheet)
        case Confirm():
            return Cue(action.say, None, Wants.CONFIRM, action.hands)
        case Go():
            return Cue(action.say, None, Wants.GO, action.hands)


class Choices:
    """Choices that are spoken one by one; a tap takes the one that was spoken last."""

    def __init__(self, *, exposed: bool) -> None:
        # nothing can have moved late before anything was exposed
        self._left = [c for c in Choice if exposed or c is not Choice.UNSURE]

    @property
    def spoken(self) -> Choice | None:
        """Give the choice that a tap would take; None when all have been spoken."""
        return self._left[0] if self._left else None

    def cue(self) -> Cue:
        """Give the words of the choice that is being offered."""
        assert self._left
        return Cue(self._left[0].value, None, Wants.CHOICE)

    def pass_on(self) -> None:
        """Leave this choice, since it was met with silence."""
        self._left.pop(0)
