"""What is kept of a box of paper, of the sheets that were read, and of the curves fitted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from enum import Enum

import msgspec

from controller.errors import BadInput, Refused, quoted

ONE_LIGHT = (
    "both papers were measured in seconds alone: this holds if lamp, head and aperture were the "
    "same for both sheets"
)
RIGHT_NAME = "a name such as pearl, and where there are several boxes the box: pearl/1234"


class Base(Enum):
    """What carries the emulsion."""

    FIBRE = "fibre"
    RESIN_COATED = "resin-coated"


class How(Enum):
    """How densities came into the book."""

    DENSITOMETER = "densitometer"
    BY_EYE = "by eye"
    SCAN = "scan"
    IMAGINED = "imagined paper"  # the simulator tells them


class Purpose(Enum):
    """What a sheet was read for."""

    CURVE = "curve"
    CONTROL = "control"  # a strip that only watches the process


class Developing(msgspec.Struct, frozen=True):
    """The developer, and for how long; empty and None are unknown."""

    developer: str = ""
    time_s: float | None = None

    def tell(self) -> str:
        """Say it in words."""
        time = "" if self.time_s is None else f"{self.time_s:g} s"
        return ", ".join(filter(None, [self.developer, time])) or "developer not said"


class Batch(msgspec.Struct, frozen=True):
    """One box of paper, as the printer wrote it down. ``number`` is the book's own."""

    number: int
    name: str
    maker: str
    type: str
    surface: str
    base: Base | None
    box: str
    opened: str  # a day, 2026-11-26; empty: not opened, or not known
    developing: Developing
    at: datetime

    @property
    def handle(self) -> str:
        """Give what it is called by in commands."""
        return f"{self.name}/{self.box}" if self.box else self.name


class Point(msgspec.Struct, frozen=True):
    """A patch: what it got and what it became.

    ``log_h`` is log10 of its exposure: lux seconds where the reading knows the light, else
    seconds of dose. ``doses_s`` is by filter. ``beyond`` is -1 or 1 where the density is only
    a bound (lighter, darker).
    """

    label: str
    log_h: float
    density: float
    uncertain: float
    doses_s: Mapping[str, float]
    beyond: int = 0


class PaperReading(msgspec.Struct, frozen=True):
    """One sheet as it was read. ``lux`` is the easel's light by which exposures are absolute."""

    number: int
    batch: int
    filter: str  # empty: none; two of them with a plus: a mixed sheet
    developing: Developing
    record_id: str
    mark: str
    how: How
    purpose: Purpose
    lux: float | None
    points: tuple[Point, ...]
    note: str
    at: datetime


class PaperCurve(msgspec.Struct, frozen=True):
    """A curve fitted to a reading: its figures, and enough to draw it again.

    ``iso_range`` and ``iso_speed`` are the rounded figures; ``log_ht`` and ``log_hs`` the log
    exposures of highlight and shadow point. ``white_seen`` and ``black_seen``: had a patch the
    paper's white, and its black? What was not seen is extrapolated. ``fitted`` holds the
    parameters by name.
    """

    number: int
    batch: int
    reading: int
    filter: str
    developing: Developing
    d_min: float
    d_max: float
    log_ht: float
    log_hm: float
    log_hs: float
    iso_range: int
    iso_speed: int | None
    residual_rms: float
    white_seen: bool
    black_seen: bool
    fitted: Mapping[str, float]
    at: datetime


class Box(msgspec.Struct, frozen=True):
    """A box, its newest curve of each filter, and every reading of its sheets."""

    batch: Batch
    curves: Mapping[str, PaperCurve]
    readings: tuple[PaperReading, ...]


def one_measure(one: Box, other: Box) -> str:
    """Say under which condition two boxes can be compared; empty where there is none.

    Raises Refused where one was measured in lux seconds and the other in seconds.
    """
    measures = {
        box.batch.handle: {curve.iso_speed is None for curve in box.curves.values()}
        for box in (one, other)
    }
    if {True, False} <= set().union(*measures.values()):
        bare = [handle for handle, kinds in measures.items() if True in kinds]
        raise Refused(
            f"the exposures of {' and '.join(bare)} are in seconds, the others in lux seconds",
            (f"a new sheet with the easel's light: dryside paper sheet {bare[0]} --lux 0.5",),
        )
    return ONE_LIGHT if True in measures[one.batch.handle] else ""


def named(batches: Sequence[Batch], text: str) -> Batch:
    """Give the box that is meant by ``name`` (the newest) or ``name/box``. Raises BadInput."""
    name, slash, box = text.partition("/")
    wanted = [b for b in batches if _key(b.name) == _key(name)]
    if slash:
        wanted = [b for b in wanted if _key(b.box) == _key(box)]
    if wanted:
        return max(wanted, key=lambda b: b.number)
    known = ", ".join(dict.fromkeys(b.handle for b in batches))
    right = f"one of {known}" if known else "a paper that `dryside paper new` has written down"
    raise BadInput(f"no paper is called {quoted(text)}", "paper", right)


def same_box(batch: Batch, name: str, box: str) -> bool:
    """Is it this box of this paper? Names are compared without case and stray spaces."""
    return (_key(batch.name), _key(batch.box)) == (_key(name), _key(box))


def clean_name(text: str) -> str:
    """Read the name of a paper. Raises BadInput."""
    name = " ".join(text.split())
    if not name or "/" in name or len(name) > 60:
        raise BadInput(f"{quoted(text)} is no name for a paper", "paper new", "such as pearl")
    return name


def _key(text: str) -> str:
    return " ".join(text.split()).casefold()
