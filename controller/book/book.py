"""The book itself: durable, thread-safe, and the only one that knows of a database."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine, update

from controller.book import opening, reading, shelf, writing
from controller.book import tables as t
from controller.book.copies import copies
from controller.book.entries import DryDownEntry, Judged, LampEntry, Page, Pick, Record
from controller.book.faults import BookFault
from controller.book.interrupted import Interrupted, parts_of
from controller.book.migrate import bring_to_head
from controller.book.papers import PaperShelf
from controller.book.reconciling import reconcile
from controller.events import Event, Fate
from controller.keeper import Ended

BUSY_TIMEOUT_S = 5.0
DRY_DOWN_BELOW_PERCENT = 50.0  # a whole stop is a slip of the pen, as in a score


class Book:
    """A print log in a file or on a server; made by ``Book.open``.

    Every call is a transaction of its own, on the disk when it returns, and may come from any
    thread. All of them raise BookFault when the book cannot do it now (full, locked, damaged).
    ``notices`` has sentences about what was found at the start, for the printer to hear.
    """

    def __init__(
        self,
        engine: Engine,
        where: str,
        now: Callable[[], datetime],
        path: Path | None,
        notices: list[str],
    ) -> None:
        self.notices = notices
        self.path = path
        self.where = where
        self._reader = engine
        self._writer = engine.execution_options(**{opening.BEGIN: "IMMEDIATE"})
        self._raw = engine.execution_options(**{opening.BEGIN: ""})
        self._now = now

    @classmethod
    def open(
        cls,
        where: str | Path,
        now: Callable[[], datetime],
        *,
        check: bool = True,
        busy_timeout_s: float = BUSY_TIMEOUT_S,
    ) -> Book:
        """Open a book, or begin one: folder, file and schema.

        ``where`` is a path or a database URL; ``now`` gives aware wall time. With ``check`` a
        book in a file is looked through first, and a damaged one is kept under another name
        while a new one is begun. Commands that only look into a book whose unit may be at work
        do without. Raises BookFault.
        """
        url = opening.url_of(where)
        path = opening.path_of(url)
        name = f"the book {path if path is not None else url.render_as_string()}"
        notices: list[str] = []
        if path is not None:
            opening.make_folder(path)
        engine = opening.make_engine(url, busy_timeout_s=busy_timeout_s)
        try:
            with opening.trouble(name):
                if path is not None and check and not opening.is_sound(engine):
                    engine.dispose()
                    kept = opening.set_aside(path, now)
                    found = copies(path)
                    bring = f"`dryside book import '{found[0]}'`" if found else ""
                    help_ = f"; {bring} brings its newest copy in" if found else ""
                    notices.append(
                        f"{name} was damaged; it is kept as {kept.name}, and a new one was "
                        f"begun{help_}"
                    )
                book = cls(engine, name, now, path, notices)
                bring_to_head(book._reader, book._writer, name)
                if check:
                    with book._write() as db:  # a book that cannot be written to says so now
                        db.execute(update(t.counter).where(t.counter.c.name == "").values(value=0))
        except BaseException:
            engine.dispose()
            raise
        return book

    def close(self) -> None:
        """Let go of the database."""
        self._reader.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # -- what happens ------------------------------------------------------------------------

    def write(self, event: Event) -> None:
        """Put one event down, durably."""
        with self._write() as db:
            writing.store(db, event, self._at())

    def next_mark(self) -> str:
        """Give the next pencil mark; never one of a sheet that is still open."""
        with self._write() as db:
            return shelf.next_mark(db)

    # -- what happened -----------------------------------------------------------------------

    def records(self, limit: int = 50, kind: str | None = None) -> list[Record]:
        """Give records, the newest first."""
        with self._read() as db:
            return reading.records(db, limit, kind)

    def record(self, key: str) -> Page | None:
        """Give a record by its id, the beginning of it, or a mark (the newest that has it).

        None where there is none; BookFault where several ids begin so.
        """
        with self._read() as db:
            record_id = reading.find(db, key)
            return None if record_id is None else reading.page(db, record_id)

    def delivered_s(self, record_id: str, mark: str) -> dict[str, float]:
        """Give what a sheet surely got, in seconds of dose by label.

        Of an exposure with bounds the lower counts.
        """
        with self._read() as db:
            parts = parts_of(reading.exposures(db, record_id, mark=mark))
        return {part.label: part.low_s for part in parts}

    # -- what was cut off --------------------------------------------------------------------

    def interrupted(self) -> list[Interrupted]:
        """Give the runs that were begun and never ended, the newest first.

        A run that is at work just now is one of them.
        """
        with self._read() as db:
            return reading.interrupted(db)

    def reconcile(self, edges: Iterable[Ended], *, complete: bool = False) -> list[tuple[str, int]]:
        """Close open exposures with the pulses that the keeper's journal has of them.

        To be called before anything runs. A pulse belongs to the exposure whose ``first_pulse``
        is the highest that is not above its number; pulses of exposures that are not open are
        ignored. Gives the (record id, number) of those whose dose is now known; others keep
        bounds. ``complete``: the keeper ended in good order and its journal has every pulse, so
        that an exposure without any got no light.
        """
        with self._write() as db:
            return reconcile(db, edges, complete=complete)

    def mark_moved(self, record_id: str, mark: str, *, moved: bool = True) -> None:
        """Put down whether a sheet was moved since its run was cut off."""
        with self._write() as db:
            self._sheet(db, record_id, mark, moved)

    def mark_spoiled(self, record_id: str, mark: str) -> None:
        """Give a sheet up."""
        with self._write() as db:
            if not writing.end_sheets(db, record_id, Fate.SPOILED, self._at(), mark=mark):
                raise BookFault(f"{self.where} has no sheet {mark} of record {record_id}")

    def close_interrupted(self, record_id: str, fate: Fate, reason: str = "") -> None:
        """End a run that was cut off, and its open sheets, with a fate; see ``end_run``."""
        with self._write() as db:
            writing.end_run(db, record_id, fate, reason, self._at())

    # -- picks -------------------------------------------------------------------------------

    def add_pick(
        self,
        choice: str,
        *,
        dose_s: float,
        stops: float,
        judged: Judged,
        record_id: str | None = None,
        subject: str = "",
        filter: str = "",
    ) -> Pick:
        """Keep what a strip was judged to need, and give it back with its unsure patches.

        ``choice`` is "C" or "C-D"; ``stops`` counts from the strip's base exposure.
        """
        with self._write() as db:
            pick = Pick(record_id, subject, choice, dose_s, stops, judged, filter, self._at())
            return shelf.add_pick(db, pick)

    def last_pick(
        self,
        *,
        record_id: str | None = None,
        subject: str | None = None,
        filter: str | None = None,
    ) -> Pick | None:
        """Give the newest pick that fits whatever is given."""
        with self._read() as db:
            return shelf.last_pick(db, record_id, subject, filter)

    def unsure(self, record_id: str, mark: str | None = None) -> set[str]:
        """Give the labels marked unsure, on one sheet of a record (by itself the newest)."""
        with self._read() as db:
            return shelf.unsure(db, record_id, mark)

    # -- strips ------------------------------------------------------------------------------

    def strips_left(self) -> int:
        """Give how many small strips are left of those that were cut."""
        with self._read() as db:
            return shelf.strips_left(db)

    def cut_sheet(self, strips: int) -> int:
        """A sheet was cut into so many strips; gives what is left now."""
        if strips < 1:
            raise BookFault(f"a sheet cannot be cut into {strips} strips; right would be 1 or more")
        with self._write() as db:
            return shelf.move_strips(db, strips, "sheet cut", self._at())

    def use_strip(self, record_id: str) -> int:
        """A strip was used for a record; gives what is left now, never below zero."""
        with self._write() as db:
            return shelf.move_strips(db, -1, "used", self._at(), record_id)

    def count_strips(self, counted: int) -> int:
        """So many strips were counted by hand: put the difference down."""
        if counted < 0:
            raise BookFault(f"there cannot be {counted} strips; right would be 0 or more")
        with self._write() as db:
            return shelf.move_strips(db, counted - shelf.strips_left(db), "counted", self._at())

    # -- lamps -------------------------------------------------------------------------------

    def add_calibration(
        self,
        output: str,
        *,
        cold_lag_s: float,
        warm_gain_s2: float,
        uncertainty_s: float | None,
        how: str,
    ) -> LampEntry:
        """Keep a lamp's two numbers; ``uncertainty_s`` is that of the lag, None if unknown."""
        entry = LampEntry(output, cold_lag_s, warm_gain_s2, uncertainty_s, how, self._at())
        with self._write() as db:
            shelf.add_calibration(db, entry)
        return entry

    def calibration(self, output: str) -> LampEntry | None:
        """Give a lamp's newest numbers."""
        return next(iter(self.calibrations(output, limit=1)), None)

    def calibrations(self, output: str, limit: int = 50) -> list[LampEntry]:
        """Give a lamp's numbers through time, the newest first."""
        with self._read() as db:
            return shelf.calibrations(db, output, limit)

    def outputs(self) -> list[str]:
        """Name the lamps of which there are numbers."""
        with self._read() as db:
            return shelf.outputs(db)

    # -- papers ------------------------------------------------------------------------------

    def add_dry_down(
        self,
        paper: str,
        percent: float,
        batch: str = "",
        record_id: str | None = None,
        how: str = "",
    ) -> DryDownEntry:
        """Keep by how many percent less a paper is to be exposed, since it darkens in drying.

        Raises BookFault for a paper without a name, and for a percentage that is none.
        """
        paper, batch = paper.strip(), batch.strip()
        if not paper:
            raise BookFault("a dry-down belongs to a paper; right would be the paper's name")
        if not 0 <= percent < DRY_DOWN_BELOW_PERCENT:  # nan as well
            raise BookFault(
                f"{percent:g} % is no dry-down of {paper}; right would be 0 or more, "
                f"and less than {DRY_DOWN_BELOW_PERCENT:g} %"
            )
        entry = DryDownEntry(paper, batch, float(percent), record_id, how, self._at())
        with self._write() as db:
            shelf.add_dry_down(db, entry)
        return entry

    def dry_down(self, paper: str, batch: str = "") -> DryDownEntry | None:
        """Give a paper's newest dry-down: that of the batch, or where it has none, of any.

        Names are compared without case and stray spaces.
        """
        with self._read() as db:
            return shelf.dry_down(db, paper, batch)

    @property
    def papers(self) -> PaperShelf:
        """Give what the book holds of boxes of paper."""
        return PaperShelf(self._read, self._write, self._at)

    # -- copies ------------------------------------------------------------------------------

    def backup(self, to: str | Path, *, replace: bool = False) -> Path:
        """Copy the book, as it is at one instant, to a file of its own; it may be in use.

        The copy appears under its name only when it is whole. Raises BookFault.
        """
        to = Path(to)
        if self._reader.dialect.name != "sqlite":
            raise BookFault(f"{self.where} is on a server; its own tools make the backup")
        if to.exists() and not replace:
            raise BookFault(f"{to} is there already; right would be a new name")
        opening.make_folder(to)
        part = to.with_name(to.name + ".part")
        try:
            part.unlink(missing_ok=True)
            with opening.trouble(self.where), self._raw.connect() as db:
                db.exec_driver_sql("VACUUM INTO ?", (str(part),))
            with part.open("rb") as copy:
                os.fsync(copy.fileno())
            part.replace(to)
        except OSError as error:
            raise BookFault(f"the copy {to} cannot be made ({error.strerror})") from None
        return to

    # -- for shelves with tables of their own -------------------------------------------------

    def looking(self) -> AbstractContextManager[Connection]:
        """Read within one transaction. Raises BookFault."""
        return self._read()

    def changing(self) -> AbstractContextManager[Connection]:
        """Write within one transaction, on the disk when it ends well. Raises BookFault."""
        return self._write()

    def at(self) -> datetime:
        """Give the wall time that a row is put down with."""
        return self._at()

    # -- inside ------------------------------------------------------------------------------

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        with opening.trouble(self.where), self._reader.connect() as db:
            yield db

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        with opening.trouble(self.where), self._writer.begin() as db:
            yield db

    def _at(self) -> datetime:
        at = self._now()
        if at.tzinfo is None:
            raise ValueError("the book's clock must give aware times")
        return at

    def _sheet(self, db: Connection, record_id: str, mark: str, moved: bool) -> None:
        found = db.execute(
            update(t.sheet)
            .where(t.sheet.c.record_id == record_id, t.sheet.c.mark == mark)
            .values(moved=moved)
        )
        if not found.rowcount:
            raise BookFault(f"{self.where} has no sheet {mark} of record {record_id}")
