"""The book as evenings: what was exposed on each, in the order of the clock. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from types import MappingProxyType

import msgspec

from controller.book.entries import Record
from controller.book.prints_made import PRINT
from controller.events import Fate
from controller.numbered import numbered

BEGINS_AT_H = 5  # an evening in the darkroom ends after midnight (common practice, no source)


class Evening(msgspec.Struct, frozen=True):
    """One evening: its sheets by mark in order, how many records of prints, and what of."""

    day: date
    marks: tuple[str, ...]
    prints: int
    spoiled: int
    titles: tuple[str, ...]

    @property
    def line(self) -> str:
        """Tell it in one line: what it came to, then the marks."""
        sheets = numbered(len(self.marks), "sheet")
        prints = f", {numbered(self.prints, 'print')}" if self.prints else ""
        spoiled = f", {self.spoiled} spoiled" if self.spoiled else ""
        return f"{sheets}{prints}{spoiled}: {' '.join(self.marks) or 'none'}"


def evening_of(at: datetime) -> date:
    """Give the day of an evening, in local time; one that lasts past midnight is one evening."""
    here = at.astimezone()
    return here.date() if here.hour >= BEGINS_AT_H else here.date() - timedelta(days=1)


def evenings(
    records: Iterable[Record], good: Mapping[str, int] = MappingProxyType({})
) -> list[Evening]:
    """Lay records, which come the newest first, into evenings, the newest first.

    ``good`` has how many prints came out of a record, where that is known: of several sheets
    in a row one may have been spoiled, and the record is done all the same.
    What was begun before five in the morning belongs to the evening before.
    """
    days: dict[date, list[Record]] = {}
    for record in records:
        days.setdefault(evening_of(record.begun_at), []).insert(0, record)
    return [
        Evening(
            day,
            tuple(mark for record in of_day for mark in record.marks),
            sum(_prints(r, good) for r in of_day),
            sum(_spoiled(r, good) for r in of_day),
            tuple(dict.fromkeys(record.title for record in of_day)),
        )
        for day, of_day in days.items()
    ]


def _prints(record: Record, good: Mapping[str, int]) -> int:
    if record.kind != PRINT or record.fate is not Fate.DONE:
        return 0
    return good.get(record.record_id, len(record.marks))


def _spoiled(record: Record, good: Mapping[str, int]) -> int:
    if record.fate is Fate.SPOILED:
        return 1
    done = record.kind == PRINT and record.fate is Fate.DONE
    return len(record.marks) - _prints(record, good) if done else 0
