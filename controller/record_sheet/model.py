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
    """A test strip that the print came from."""

    mark: str
    filter: str
    choice: str
    patches: tuple[StripPatch, ...]


class Curve(msgspec.Struct, frozen=True):
    """A paper's curve: (log exposure, density) from left to right."""

    name: str
    points: tuple[tuple[float, float], ...]


class Facts(msgspec.Struct, frozen=True):
    """A heading and the lines beneath it."""

    heading: str
    lines: tuple[str, ...]


class EditionLine(msgspec.Struct, frozen=True):
    """A sheet of the same print: its mark, what became of it, and words on it.

    ``signed``: it is one of an edition, and the words begin with its number.
    """

    mark: str
    made: str
    fate: str
    remark: str = ""
    signed: bool = False


class PrintSheet(msgspec.Struct, frozen=True):
    """All that the page says. ``picture`` is a PNG or JPEG of the print, empty without one.

    ``number`` is its place in an edition as it is pencilled beneath it, such as 3/25.
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
    strips: tuple[StripFigure, ...] = ()
    curve: Curve | None = None
    edition: tuple[EditionLine, ...] = ()
    remarks: tuple[str, ...] = ()
    picture: bytes = b""
    number: str = ""
