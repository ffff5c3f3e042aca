"""A long press at a prompt: its choices, spoken one by one, and where it leads back to.

It moves nothing: the runner asks what is meant, and does it.
"""

from __future__ import annotations

from controller.exposing.bench import State
from controller.exposing.lit import InHand
from controller.exposing.told import Choice
from controller.ports import Cue, Sound, Wants

# What cannot be taken back is asked once more.
FINAL = frozenset({Choice.SPOILED, Choice.END})


class Choices:
    """Choices that are spoken one by one; a tap takes the one spoken when the foot went down.

    ``came_from`` is the prompt that the foot was kept down at; silence leads back there.
    """

    def __init__(self, came_from: State, hand: InHand, *, laid: bool) -> None:
        self.came_from = came_from
        # nothing can have moved late before anything was exposed, nor a sheet be spoiled that
        # does not lie there
        without = {
            Choice.UNSURE: not hand.last_doubtful,
            Choice.WRONG_FILTER: not hand.last_filter,
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
