"""Power fails at any instant of a session of prints: no closed exposure and no number is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Mapping, Set
from contextlib import closing, suppress
from pathlib import Path
from random import Random
from types import MappingProxyType
from typing import NamedTuple

from controller.book.book import Book
from controller.book.editions import begin_edition, edition, prints_for, sign
from controller.book.print_entries import Negative
from controller.book.prints import keep_negative, negative, print_called, tell_of
from controller.book.tones import keep_tones
from controller.book.whole import whole_print
from controller.errors import BadInput
from controller.events import Fate
from tests.controller.book.histories import now
from tests.controller.book.test_prints import lay_print

SESSIONS = 40 if os.environ.get("DRYSIDE_LONG") else 2
CUTS = 25 if os.environ.get("DRYSIDE_LONG") else 6  # of each session, at random
COMMITS = None if os.environ.get("DRYSIDE_LONG") else 4  # of each session are tried; None: all
HEADER, FRAME = 32, 24  # bytes of a log and of a page in it (sqlite.org/fileformat2.html, 4.1)
STEPS = 12


class Sure(NamedTuple):
    """What was acknowledged: record and mark of closed exposures, the rest by mark."""

    closed: tuple[tuple[str, str], ...] = ()
    good: tuple[str, ...] = ()
    rated: Set[str] = frozenset()
    numbers: Mapping[str, str] = MappingProxyType({})
    read: Set[str] = frozenset()


class Session:
    """A printer at work, at random; ``done`` is what was acknowledged so far."""

    def __init__(self, book: Book, rng: Random) -> None:
        self.book = book
        self.rng = rng
        self.closed: list[tuple[str, str]] = []  # record and mark, of exposures that ended
        self.good: list[str] = []
        self.ratings: dict[str, int] = {}
        self.numbers: dict[str, str] = {}
        self.tones: dict[str, float] = {}
        begin_edition(book, "e", 25, artist_proofs=3)
        keep_negative(book, Negative("24-17/3"))

    def step(self) -> None:
        """Do one thing."""
        if not self.good or self.rng.random() < 0.5:
            mark = f"K{len(self.closed) + 1}"
            fate = self.rng.choice((Fate.DONE, Fate.DONE, Fate.SPOILED))
            lay_print(self.book, f"record {mark}", mark, fate, edition="e")
            self.closed.append((f"record {mark}", mark))
            if fate is Fate.DONE:
                self.good.append(mark)
            return
        mark = self.rng.choice(self.good)
        what = self.rng.random()
        if what < 0.3:
            self.ratings[mark] = self.rng.randint(1, 5)
            tell_of(self.book, f"record {mark}", rating=self.ratings[mark])
        elif what < 0.5:
            self.tones[mark] = self.rng.randint(10, 200) / 100
            keep_tones(self.book, f"record {mark}", {"Sky": self.tones[mark]})
        elif mark not in self.numbers:
            number = self.rng.choice(("", "AP 1/3", "17/25"))
            with suppress(BadInput):  # the number was given before
                self.numbers[mark] = sign(self.book, "e", f"record {mark}", number).written

    def state(self) -> Sure:
        """Give what is acknowledged."""
        return Sure(
            tuple(self.closed),
            tuple(self.good),
            set(self.ratings),
            dict(self.numbers),
            set(self.tones),
        )


def cut_copy(path: Path, folder: Path, cut: int) -> Path:
    """Copy a book as the power leaves it: its log cut at a byte."""
    folder.mkdir()
    copy = folder / path.name
    shutil.copy(path, copy)
    log = path.with_name(path.name + "-wal").read_bytes()
    copy.with_name(path.name + "-wal").write_bytes(log[:cut])
    return copy


def commits(log: bytes) -> list[int]:
    """Give where each transaction ends in a log: behind a page that names the file's new size."""
    page = int.from_bytes(log[8:12], "big")
    ends = range(HEADER + FRAME + page, len(log) + 1, FRAME + page)
    starts = ((end, end - FRAME - page) for end in ends)
    return [end for end, at in starts if any(log[at + 4 : at + 8])]


def test_a_log_cut_anywhere_keeps_every_exposure_and_number_before_it(
    tmp_path: Path, empty_book: bytes
) -> None:
    """Random sessions, cut at any byte, at commits and just before: what ended is there."""
    for seed in range(SESSIONS):
        rng, path = Random(seed), tmp_path / f"{seed}.sqlite"
        path.write_bytes(empty_book)
        log = path.with_name(path.name + "-wal")
        with Book.open(path, now=now) as book:
            session = Session(book, rng)
            states = [(log.stat().st_size, session.state())]
            for _ in range(STEPS):
                session.step()
                states.append((log.stat().st_size, session.state()))
            assert [size for size, _ in states] == sorted(size for size, _ in states)
            whole = log.read_bytes()
            ends = commits(whole)
            assert {size for size, _ in states} <= set(ends)  # each step was committed to its end
            tried = ends if COMMITS is None else rng.sample(ends, COMMITS)
            cuts = [rng.randrange(len(whole) + 1) for _ in range(CUTS)]
            cuts += [cut for end in tried for cut in (end, end - 1)]
            for number, cut in enumerate(cuts):
                copy = cut_copy(path, tmp_path / f"{seed}-{number}", cut)
                sure = [state for size, state in states if size <= cut]
                with closing(sqlite3.connect(copy)) as db:
                    assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                    assert db.execute("PRAGMA foreign_key_check").fetchall() == []
                with Book.open(copy, now=now) as after:
                    assert after.notices == []
                    holds(after, sure[-1] if sure else Sure())


def holds(book: Book, sure: Sure) -> None:
    """Hold a book against what it surely has; what was under way at the cut may be there too."""
    for record_id, mark in sure.closed:
        page = book.record(record_id)
        assert page is not None
        assert [(e.mark, e.delivered_dose_s) for e in page.exposures] == [(mark, 10.0)]
    for mark, written in sure.numbers.items():
        whole = whole_print(book, f"record {mark}")
        assert [place.written for place in whole.editions] == [written]
    for mark in sure.rated:
        # a later rating may have come through as well
        assert print_called(book, f"record {mark}").rating is not None
    for mark in sure.read:
        assert [one.region for one in whole_print(book, f"record {mark}").tones] == ["Sky"]
    if sure.good:
        made = {one.mark for one in prints_for(book, "e")}
        spoiled = {mark for _, mark in sure.closed} - set(sure.good)
        assert set(sure.good) <= made
        assert not made & spoiled
    if sure.numbers:
        signed = [one.written for one in edition(book, "e").signed]
        assert len(signed) == len(set(signed))
    if sure.closed:
        assert negative(book, "24-17/3") is not None


def test_a_session_has_what_the_test_is_about(book: Book) -> None:
    """Within a session there are prints, spoiled sheets, ratings and numbers."""
    session = Session(book, Random(3))
    for _ in range(40):
        session.step()
    assert len(session.closed) > len(session.good) > 0
    assert session.ratings
    assert session.numbers
    assert session.tones
