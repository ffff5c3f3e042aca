"""The evening: what the unit cannot know and asks at its beginning, and what becomes of the baths.

Nothing depends on the answers: an evening that nobody opened or closed is one as well.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from enum import Enum
from pathlib import Path
from typing import Literal

import msgspec
from pydantic import BaseModel, ConfigDict, ValidationError

from controller.book.entries import Page, Record
from controller.errors import BadInput
from controller.events import Fate

FILE = "evening.json"
LONGEST = timedelta(hours=16)  # what lies longer ago is another evening
NEVER = datetime.max.replace(tzinfo=UTC)
BATHS = ("developer", "stop bath", "fixer")


class Check(Enum):
    """What is to be seen to before paper is out, in the words in which it is asked."""

    TELEPHONE = "the telephone is out of the room"
    PANEL = "a deep red sheet lies over this screen"
    TRAYS = "trays and tongs are clean"


class BathFate(Enum):
    """What becomes of a bath."""

    UNSAID = "-"
    KEPT = "kept"
    POURED = "poured away"
    COLLECTED = "collected"


class Evening(BaseModel):
    """One evening; version 1. Wall times, and for the printer's own use only."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    opened_at: datetime | None = None
    seen_to: tuple[Check, ...] = ()
    baths_mixed: str = ""  # in the printer's own words
    closed_at: datetime | None = None
    baths: dict[str, BathFate] = {}


def read_evening(folder: Path) -> Evening:
    """Read the last evening that was kept; a new one where there is none that can be read."""
    try:
        return Evening.model_validate_json((folder / FILE).read_bytes())
    except (OSError, ValidationError):
        return Evening()


def keep_evening(folder: Path, evening: Evening) -> None:
    """Keep it in place of the last, in one step. Raises BadInput where that cannot be done."""
    path = folder / FILE
    part = path.with_name(path.name + ".part")
    try:
        with part.open("w", encoding="utf-8") as file:
            file.write(evening.model_dump_json(indent=1))
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise BadInput(
            f"it cannot be written ({error.strerror})", str(path), "a disk with room"
        ) from None


def begun(evening: Evening, now: datetime) -> datetime:
    """Give when tonight began: when it was opened, else so long ago as an evening can last."""
    earliest = now - LONGEST
    opened = evening.opened_at
    return opened if opened is not None and earliest <= opened <= now else earliest


def tonight(records: Iterable[Record], evening: Evening, now: datetime) -> list[Record]:
    """Give the records of tonight among these, which come the newest first."""
    since = begun(evening, now)
    return [record for record in records if record.begun_at >= since]


class TonightSheet(msgspec.Struct, frozen=True):
    """A sheet of tonight: what it is, when light last fell on it, what was remarked."""

    record_id: str
    mark: str
    what: str
    last_light_at: datetime | None
    fate: str
    remark: str


def sheets_tonight(pages: Iterable[Page]) -> list[TonightSheet]:
    """Give the sheets of these pages in the order in which they left the light.

    Those that no light has fallen on come last. The wall time of an exposure is when it was
    intended: exposures never overlap, so their order is that of the lamp's going off.
    """
    sheets = []
    for page in pages:
        for sheet in page.sheets:
            lit = [e.intended_at for e in page.exposures if e.mark == sheet.mark]
            said = [r.text for r in page.remarks if r.mark == sheet.mark and not r.label]
            sheets.append(
                TonightSheet(
                    page.record.record_id,
                    sheet.mark,
                    page.record.title,
                    max(lit, default=None),
                    (sheet.fate or page.record.fate or Fate.INTERRUPTED).value,
                    "; ".join(said),
                )
            )
    return sorted(sheets, key=lambda sheet: sheet.last_light_at or NEVER)


def opened(evening_at: datetime, seen_to: Iterable[Check], baths_mixed: str) -> Evening:
    """Give an evening that begins."""
    return Evening(opened_at=evening_at, seen_to=tuple(seen_to), baths_mixed=baths_mixed.strip())


def closed(evening: Evening, now: datetime, baths: Mapping[str, BathFate]) -> Evening:
    """Give the evening, over; one that was opened too long ago is another."""
    known = evening if begun(evening, now) == evening.opened_at else Evening()
    said = {name: fate for name, fate in baths.items() if fate is not BathFate.UNSAID}
    return known.model_copy(update={"closed_at": now, "baths": said})
