"""A score converted with what the book knows of both papers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ui.unit import open_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.boxes.model import Box
    from controller.boxes.onto import Onto
    from controller.score.convert import Wanted
    from controller.score.model import Score


def converted_by_book(
    score: Score,
    wanted: Wanted,
    *,
    tones: Mapping[str, float] | None = None,
    densities: Mapping[str, float] | None = None,
) -> Onto:
    """Convert a score by the enlarger's arithmetic and, where both have them, by papers' curves.

    Raises BadInput, Refused and BookFault.
    """
    from controller.boxes.onto import convert_onto, papers_of

    was: Box | None = None
    now: Box | None = None
    named = papers_of(score, wanted)
    if named is not None:
        with open_book() as book:
            was, now = (book.papers.known_box(each) for each in named)
    return convert_onto(score, wanted, was, now, tones=tones, densities=densities)


def tones_of(book: Book, key: str) -> dict[str, float]:
    """Give the densities of a print's regions that the book knows, by region."""
    from controller.book.whole import whole_print

    return {one.region: one.density for one in whole_print(book, key).tones}
