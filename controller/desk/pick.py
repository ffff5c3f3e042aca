"""Picking from a strip: a patch, or a place between two, gives the exposure to print with."""

from __future__ import annotations

import re
from dataclasses import dataclass

from controller.book.entries import Judged
from controller.errors import BadInput
from controller.stops import factor_to_stops, format_time
from controller.strips.strip import LETTERS, Strip, patches_of

RIGHT_PICK = "a patch such as C, or two neighbours such as C-D"


@dataclass(frozen=True, slots=True)
class Pick:
    """What was picked: ``dose_s`` to print with and ``stops`` from patch A.

    Dry-down is allowed for once, when the print is made, never here.
    """

    choice: str
    dose_s: float
    stops: float
    letters: tuple[str, ...]
    judged: Judged


def pick_from(strip: Strip, text: str, judged: Judged) -> Pick:
    """Read a choice: ``C``, ``C-D`` or ``between C and D`` (half-way in stops).

    Raises BadInput for letters the strip does not have, or a pair that are not neighbours.
    """
    found = re.fullmatch(
        r"(?:between\s+)?([A-Z])(?:\s*(?:-|–|/|and|\s)\s*([A-Z]))?",  # noqa: RUF001
        text.strip(),
        re.IGNORECASE,
    )
    if not found:
        raise BadInput(f"{text!r} is not a choice", "pick", RIGHT_PICK)
    letters = tuple(letter.upper() for letter in found.groups() if letter)
    if len(letters) == 1 and text.strip().lower().startswith("between"):
        raise BadInput("only one patch is named", "pick", RIGHT_PICK)
    patches = {patch.letter: patch for patch in patches_of(strip)}
    for letter in letters:
        if letter not in patches:
            last = LETTERS[strip.patches - 1]
            raise BadInput(f"there is no patch {letter} on this strip", "pick", f"A to {last}")
    if len(letters) == 2 and abs(LETTERS.index(letters[0]) - LETTERS.index(letters[1])) != 1:
        raise BadInput(f"{letters[0]} and {letters[1]} are not neighbours", "pick", RIGHT_PICK)
    doses = [patches[letter].dose_s for letter in letters]
    # half-way in stops is the geometric mean in seconds
    dose_s = doses[0] if len(doses) == 1 else (doses[0] * doses[1]) ** 0.5
    stops = factor_to_stops(dose_s / strip.base_s)
    return Pick("-".join(letters), dose_s, stops, letters, judged)


def contact_lines(picked: Pick, mark: str) -> list[str]:
    """Tell what a contact strip's reading means: the first patch as black as the paper goes."""
    return [
        f"{mark}: {format_time(picked.dose_s)} ({picked.choice}) is the least exposure that is "
        "full black through the clear edge of the film",
        "make contact sheets with it: there, frames that come out too dark were given too little "
        "light in the camera, and those that come out too light too much",
    ]
