"""Reading a sheet that proves a room by answering one question after the other. Pure.

Each question has a few answers that can be spoken; the last answer makes the results.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from controller.errors import BadInput
from controller.room.fog_sheets import REFERENCE, CoinCheck, FlashStrip, FogTest, WhichLight
from controller.room.model import Flash, Result
from controller.room.reading import (
    FogSheet,
    fog_by_eye,
    fog_result,
    single_result,
    which_results,
)
from controller.strips.strip import LETTERS

NO_STEP, SHOWS, HIDDEN, NO_OTHER = "none", "it shows", "it does not show", "no other"
DIFFERS = " differs"
ALL_WHITE, ALL_DARK = "all white", "all too dark"


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a sheet, and the answers there are."""

    text: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetRead:
    """A sheet that is being read; ``answers`` so far, in the order of the questions."""

    mark: str
    sheet: FogSheet
    answers: tuple[str, ...] = ()

    @property
    def question(self) -> Question | None:
        """Give the next question; None when all are answered."""
        match self.sheet:
            case FogTest() if len(self.answers) < len(_SIDES):
                side = _SIDES[len(self.answers)]
                steps = range(1, len(self.sheet.steps_s) + 1)
                return Question(
                    f"{self.mark}, {side} the flash: which is the first step that can be told "
                    "from the reference?",
                    (f"{side}, {NO_STEP}", *(f"{side}, step {n}" for n in steps)),
                )
            case WhichLight() if NO_OTHER not in self.answers:
                columns = [n + DIFFERS for n in self.sheet.names() if n != REFERENCE]
                left = [one for one in columns if one not in self.answers]
                text = f"{self.mark}: which column can be told from the reference?"
                return Question(text, (NO_OTHER, *left)) if left else None
            case FlashStrip() if not self.answers:
                letters = LETTERS[: self.sheet.patches]
                text = f"{self.mark}: which patch is the first light grey, clearly above white?"
                return Question(text, (*letters, ALL_WHITE, ALL_DARK))
            case FogTest() | WhichLight() | FlashStrip():
                return None
            case _ if not self.answers:
                what = "the coin" if isinstance(self.sheet, CoinCheck) else "the covered half"
                return Question(f"{self.mark}: does {what} show?", (HIDDEN, SHOWS))
        return None

    def answered(self, answer: str) -> SheetRead:
        """Take an answer. Raises BadInput for one that was not offered."""
        question = self.question
        offered = question.answers if question else ()
        if answer not in offered:
            right = " or ".join(offered) or "nothing: it has been read"
            raise BadInput(f"{answer!r} is no answer", "room read", right)
        return replace(self, answers=(*self.answers, answer))

    def results(self, when: date) -> list[Result]:
        """Give what follows for the room's lights, when all is answered; none of a flash strip."""
        match self.sheet:
            case FogTest() as fog:
                before, after = (_step(answer) for answer in self.answers)
                return [fog_result(fog, fog.lights, *fog_by_eye(fog, before, after), when)]
            case WhichLight() as which:
                told = {answer.removesuffix(DIFFERS) for answer in self.answers}
                seen = {name: name in told for name in which.names() if name != REFERENCE}
                return which_results(which, seen, {one: one for one in which.lights}, when)
            case FlashStrip():
                return []
            case single:
                changed = self.answers[0] == SHOWS
                return [single_result(single, single.lights, when, changed=changed)]

    def flash(self) -> Flash | None:
        """Give the exposure that a flash strip has found; None of any other sheet."""
        if not isinstance(self.sheet, FlashStrip) or not self.answers:
            return None
        if self.answers[0] not in LETTERS:
            return None
        strip = self.sheet
        dose_s = strip.doses_s()[LETTERS.index(self.answers[0])]
        return Flash(
            paper=strip.paper,
            exposure_s=round(dose_s, 3),
            filter=strip.flash_filter,
            aperture=strip.aperture,
        )

    @property
    def flash_missed(self) -> str:
        """Say what to do where no patch of a flash strip is a light grey; else nothing."""
        return _MISSED.get(self.answers[0], "") if self.answers else ""


_MISSED = {
    ALL_WHITE: "open the lens by two stops or more, and make another flash strip",
    ALL_DARK: "close the lens by two stops or more, and make another flash strip",
}
_SIDES = ("before", "after")


def _step(answer: str) -> int | None:
    words = answer.partition(", ")[2]
    return None if words == NO_STEP else int(words.removeprefix("step "))
