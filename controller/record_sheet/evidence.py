"""The strips and crosses beside the print that they led to, as figures of its page. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime

from controller.book.entries import Judged, Page
from controller.desk.pick import pick_from
from controller.errors import DrysideError
from controller.record_sheet.model import CrossFigure, StripFigure, StripPatch
from controller.score.model import Score
from controller.strips.cross import Cross, pick_cell
from controller.strips.strip import LETTERS, Strip, patches_of

Find = Callable[[str], Page | None]  # a record by its mark, None where there is none

# The line that a pick writes into a score: mark, choice, and for burns and dodges what for.
_FROM = re.compile(r"([A-Z]\d{1,3}) ([A-Z]\d{0,2}(?:-[A-Z]\d{0,2})?)(?:, (?:burn|dodge) of .+)?")
MOST_FIGURES = 6
Figure = StripFigure | CrossFigure


def figures_of(
    score: Score,
    before: datetime,
    find: Find,
    beside: Iterable[Page] = (),
    pictures: Mapping[str, bytes] | None = None,
) -> tuple[list[Figure], list[str]]:
    """Give the figures, the oldest first, and the lines of the score that none of them shows.

    A mark that comes again after some evenings is looked up as the newest: one that was made
    after the print is another's. ``beside`` are records that were laid beside the print by
    hand, ``pictures`` those of records by their id.
    """
    found: dict[str, tuple[Page, str]] = {}
    left = []
    for line in score.came_from:
        named = _FROM.fullmatch(line.strip())
        page = find(named[1]) if named else None
        if named is None or page is None or page.record.begun_at > before:
            left.append(line)
            continue
        found[page.record.record_id] = page, named[2]
    for page in beside:
        choice = page.picks[-1].choice if page.picks else ""
        found.setdefault(page.record.record_id, (page, choice))
    made = []
    for page, choice in sorted(found.values(), key=lambda each: each[0].record.begun_at):
        figure = _figure(page, choice, (pictures or {}).get(page.record.record_id, b""))
        if figure is not None:
            made.append(figure)
    return made[-MOST_FIGURES:], left


# --- inside -----------------------------------------------------------------------------------


def _figure(page: Page, choice: str, picture: bytes) -> Figure | None:
    """Draw a record; None for one of another kind, and for a choice that is not of it."""
    mark = page.record.marks[-1] if page.record.marks else ""
    try:
        if page.record.kind == "strip":
            return _strip(Strip.model_validate_json(page.record.spec), mark, choice, picture)
        if page.record.kind == "cross":
            return _cross(Cross.model_validate_json(page.record.spec), mark, choice, picture)
    except (DrysideError, ValueError):  # of a later version, or another strip of the same mark
        return None
    return None


def _strip(strip: Strip, mark: str, choice: str, picture: bytes) -> StripFigure:
    picked = pick_from(strip, choice, judged=Judged.WET) if choice else None
    letters = picked.letters if picked else ()
    patches = [
        StripPatch(one.letter, one.dose_s, one.letter in letters) for one in patches_of(strip)
    ]
    if strip.side in ("right", "bottom"):
        patches.reverse()
    lies = strip.side in ("left", "right")
    return StripFigure(
        mark,
        _what(strip),
        picked.choice if picked else "",
        tuple(patches),
        picture if lies else b"",
    )


def _what(strip: Strip) -> str:
    purpose = strip.purpose
    if purpose is not None and purpose.kind in ("burn", "dodge"):
        return f"{purpose.kind} {purpose.region}, {purpose.within}"
    if purpose is not None:
        return purpose.kind
    return ", ".join(filter(None, (strip.filter and f"filter {strip.filter}", strip.place)))


def _cross(cross: Cross, mark: str, choice: str, picture: bytes) -> CrossFigure:
    picked: list[tuple[int, int]] = []
    told = ""
    if choice:
        cell = pick_cell(cross, choice)
        told = cell.name
        for name in told.split("-"):
            picked.append((LETTERS.index(name[0]), int(name[1:]) - 1))
    return CrossFigure(
        mark,
        ", ".join(filter(None, (f"{cross.soft.filter} by {cross.hard.filter}", cross.place))),
        told,
        tuple(cross.soft.totals_s()),
        tuple(cross.hard.totals_s()),
        tuple(picked),
        picture,
    )
