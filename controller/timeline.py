"""The book as evenings: what was exposed on each, in the order of the clock. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

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


def evenings(records: Iterable[Record]) -> list[Evening]:
    """Lay records, which come the newest first, into evenings, the newest first.

    What was begun before five in the morning belongs to the evening before.
    """
    days: dict[date, list[Record]] = {}
    for record in records:
        days.setdefault(evening_of(record.begun_at), []).insert(0, record)
    return [
        Evening(
            day,
            tuple(mark for record in of_day for mark in record.marks),
            sum(1 for r in of_day if r.kind == PRINT and r.fate is Fate.DONE),
            sum(1 for r in of_day if r.fate is Fate.SPOILED),
            tuple(dict.fromkeys(record.title for record in of_day)),
        )
        for day, of_day in days.items()
    ]
