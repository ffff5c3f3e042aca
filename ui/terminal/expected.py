"""What a strip and a print are to become on a measured paper, as it was asked for this evening.

Kept while the terminal runs: the page of tones asks, and the strip's own drawing shows it too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from controller.boxes.preview import (
    Tone,
    bar,
    dry_down_words,
    filters_of,
    light_asked,
    regions_asked,
    require_absolute,
    score_tones,
    tones_of,
)
from controller.errors import DrysideError
from controller.score.doses import exposures
from controller.score.model import Score
from controller.strips.strip import Strip

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.boxes.answers import Answers

BAR_COLUMNS = 30


@dataclass
class Expected:
    """A box of paper, and the light that was told. Empty: no box, no light."""

    box: str = ""
    light: str = ""
    regions: str = ""
    handle: str = ""  # of the box that was found
    absolute: bool = True
    papers: dict[frozenset[str], Answers] = field(default_factory=dict)  # by the filters used

    def patches(self, strip: Strip) -> dict[str, float]:
        """Give the densities of a strip by letter; none where anything is not known yet."""
        paper = self.papers.get(frozenset(filters_of(strip)))
        if paper is None or not self.light:
            return {}
        try:
            return {tone.name: tone.density for tone in self.strip_tones(paper, strip)}
        except DrysideError:
            return {}  # the page of tones says why

    def strip_tones(self, paper: Answers, strip: Strip) -> list[Tone]:
        """Give the tones of a strip in the light that was told. Raises BadInput and Refused."""
        return tones_of(paper, strip, light_asked(self.light), absolute=self.absolute)

    def region_lines(self, paper: Answers, score: Score) -> list[str]:
        """Tell the regions whose light was told. Raises BadInput and Refused."""
        require_absolute(self.absolute)
        tones = score_tones(paper, score, regions_asked(self.regions))
        wide = max((len(tone.name) for tone in tones), default=0)
        lines = [
            f"{tone.name:{wide}}  {tone.density:4.2f} {bar(paper, tone.density, BAR_COLUMNS)} "
            f"{tone.words}"
            for tone in tones
        ]
        return [*lines, *filter(None, [dry_down_words(score)])]


def used_by(score: Score | None) -> frozenset[str]:
    """Name the filters of a score."""
    return frozenset(one.filter for one in exposures(score)) if score else frozenset()


def look_up(
    book: Book, name: str, wanted: set[frozenset[str]]
) -> tuple[str, bool, dict[frozenset[str], Answers], str]:
    """Find a box, whether lux say something of it, its answers, and why one is missing.

    In a thread: it loads much.
    """
    from controller.boxes.answering import answers_or_why, is_absolute

    box = book.papers.measured_box(name)
    return box.batch.handle, is_absolute(box), *answers_or_why(box, wanted)
