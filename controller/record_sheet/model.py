"""What a print's record on paper says: plain data, gathered from the book.

Doses are seconds of full light, as everywhere; whatever is unknown is empty and is left out.
"""

from __future__ import annotations

from enum import Enum

import msgspec

from controller.score.model import Score


class StepKind(Enum):
    """What a line of the table of exposures is."""

    FLASH = "flash"
    PASS = "pass"
    BURN = "burn"
    EXTRA = "extra"


class HeldBack(msgspec.Struct, frozen=True):
    """A dodge: these regions got no light between two doses of an exposure, in seconds."""

    name: str
    begin_s: float
    end_s: float


class Step(msgspec.Struct, frozen=True):
    """One exposure: as it was planned, and what surely fell by the book.

    ``stops`` is how printers write it (``+1/3``), from the base exposure or, of a burn, over
    its pass; it is empty where only seconds are meant.
    """

    kind: StepKind
    label: str
    filter: str
    planned_s: float
    given_s: float
    stops: str = ""
    held: tuple[HeldBack, ...] = ()
    note: str = ""


class StripPatch(msgspec.Struct, frozen=True):
    """A patch of a test strip; ``picked`` if the exposure was found on it (or beside it)."""

    letter: str
    dose_s: float
    picked: bool


class StripFigure(msgspec.Struct, frozen=True):
    """A test strip that the print came from.

    ``what`` is what it was to settle. The patches lie as on the paper, from the left, and
    ``picture`` is one of the dry strip (PNG or JPEG), empty without one.
    """

    mark: str
    what: str
    choice: str
    patches: tuple[StripPatch, ...]
    picture: bytes = b""


class CrossFigure(msgspec.Struct, frozen=True):
    """A cross that the print came from: soft exposures by column, hard ones by row, in seconds.

    ``picked`` are the cells (row, column, from 0) that it was found on or between.
    """

    mark: str
    what: str
    choice: str
    soft_s: tuple[float, ...]
    hard_s: tuple[float, ...]
    picked: tuple[tuple[int, int], ...]
    picture: bytes = b""


class ToneMark(msgspec.Struct, frozen=True):
    """A region of the print on its curve: where its light lies, and the density it has.

    ``bare`` is what its light would have become without burns and dodges.
    """

    name: str
    at: float
    density: float
    bare: float


class Curve(msgspec.Struct, frozen=True):
    """What the print's passes make of the negative's light, on the paper that was measured.

    ``points`` are (log10 of light, density) from left to right.
    """

    name: str
    points: tuple[tuple[float, float], ...]
    tones: tuple[ToneMark, ...] = ()


NEGATIVE = "Negative"  # the heading of what is known of it


class Facts(msgspec.Struct, frozen=True):
    """A heading and the lines beneath it; what follows a tab stands at the right."""

    heading: str
    lines: tuple[str, ...]


class EditionLine(msgspec.Struct, frozen=True):
    """A sheet of the same print or edition: mark, day, what became of it, and words on it.

    ``number`` is its place in the edition, empty where it was not signed; ``here`` is the
    sheet that the page is of.
    """

    mark: str
    made: str
    fate: str
    remark: str = ""
    number: str = ""
    here: bool = False


class PrintSheet(msgspec.Struct, frozen=True):
    """All that the page says. ``picture`` is a PNG or JPEG of the print, empty without one.

    ``number`` is its place in an edition as it is pencilled beneath it, such as 3/25, and
    ``fate`` what became of the sheet.
    """

    record_id: str
    mark: str
    title: str
    under_title: tuple[str, ...]
    made: str
    rig: str
    score: Score
    steps: tuple[Step, ...]
    facts: tuple[Facts, ...] = ()
    strips: tuple[StripFigure | CrossFigure, ...] = ()
    curve: Curve | None = None
    edition: tuple[EditionLine, ...] = ()
    edition_name: str = ""
    remarks: tuple[str, ...] = ()
    picture: bytes = b""
    number: str = ""
    fate: str = ""
    negative: str = ""
