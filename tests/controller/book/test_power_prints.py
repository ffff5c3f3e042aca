"""Power fails at any instant of a session of prints: no closed exposure and no number is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from random import Random

from controller.book.book import Book
from controller.book.editions import begin_edition, edition, sign
from controller.book.print_entries import Negative
from controller.book.prints import keep_negative, negative, print_called, tell_of
from controller.book.whole import whole_print
from controller.errors import BadInput
from controller.events import Fate
from tests.controller.book.histories import now
from tests.controller.book.test_prints import lay_print

SESSIONS = 40 if os.environ.get("DRYSIDE_LONG") else 2
CUTS = 25 if os.environ.get("DRYSIDE_LONG") else 10  # of each session
STEPS = 12


class Session:
    """A printer at work, at random; ``done`` is what was acknowledged so far."""

    def __init__(self, book: Book, rng: Random) -> None:
        self.book = book
        self.rng = rng
        self.closed: list[tuple[str, str]] = []  # record and mark, of exposures that ended
        self.good: list[str] = []
        self.ratings: dict[str, int] = {}
        self.numbers: dict[str, str] = {}
        begin_edition(book, "e", 25, artist_proofs=3)
        keep_negative(book, Negative("24-17/3"))

    def step(self) -> None:
        """Do one thing."""
        if not self.good or self.rng.random() < 0.5:
            mark = f"K{len(self.closed) + 1}"
            fate = self.rng.choice((Fate.DONE, Fate.DONE, Fate.SPOILED))
            lay_print(self.book, f"record {mark}", mark, fate)
            self.closed.append((f"record {mark}", mark))
            if fate is Fate.DONE:
                self.good.append(mark)
            return
        mark = self.rng.choice(self.good)
        if self.rng.random() < 0.5:
            self.ratings[mark] = self.rng.randint(1, 5)
            tell_of(self.book, f"record {mark}", rating=self.ratings[mark])
        elif mark not in self.numbers:
            number = self.rng.choice(("", "AP 1/3", "17/25"))
            with suppress(BadInput):  # the number was given before
                self.numbers[mark] = sign(self.book, "e", f"record {mark}", number).written

    def state(self) -> tuple[list[tuple[str, str]], dict[str, int], dict[str, str]]:
        """Give what is acknowledged."""
        return list(self.closed), dict(self.ratings), dict(self.numbers)


def cut_copy(path: Path, folder: Path, rng: Random) -> tuple[Path, int]:
    """Copy a book as the power leaves it: its log cut at a random byte."""
    folder.mkdir()
    copy = folder / path.name
    shutil.copy(path, copy)
    log = path.with_name(path.name + "-wal").read_bytes()
    cut = rng.randrange(len(log) + 1)
    copy.with_name(path.name + "-wal").write_bytes(log[:cut])
    return copy, cut


def test_a_log_cut_anywhere_keeps_every_exposure_and_number_before_it(
    tmp_path: Path, empty_book: bytes
) -> None:
    """Random sessions, each cut at random bytes: what ended before the cut is there, and sound."""
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
            for number in range(CUTS):
                copy, cut = cut_copy(path, tmp_path / f"{seed}-{number}", rng)
                sure = [state for size, state in states if size <= cut]
                closed, ratings, numbers = sure[-1] if sure else ([], {}, {})
                with closing(sqlite3.connect(copy)) as db:
                    assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                    assert db.execute("PRAGMA foreign_key_check").fetchall() == []
                with Book.open(copy, now=now) as after:
                    assert after.notices == []
                    holds(after, closed, ratings, numbers)


def holds(
    book: Book,
    closed: list[tuple[str, str]],
    ratings: dict[str, int],
    numbers: dict[str, str],
) -> None:
    """Hold a book against what it surely has; what was under way at the cut may be there too."""
    for record_id, mark in closed:
        page = book.record(record_id)
        assert page is not None
        assert [(e.mark, e.delivered_dose_s) for e in page.exposures] == [(mark, 10.0)]
    for mark, written in numbers.items():
        whole = whole_print(book, f"record {mark}")
        assert [place.written for place in whole.editions] == [written]
    for mark in ratings:
        # a later rating may have come through as well
        assert print_called(book, f"record {mark}").rating is not None
    if numbers:
        signed = [one.written for one in edition(book, "e").signed]
        assert len(signed) == len(set(signed))
    if closed:
        assert negative(book, "24-17/3") is not None


def test_a_session_has_what_the_test_is_about(book: Book) -> None:
    """Within a session there are prints, spoiled sheets, ratings and numbers."""
    session = Session(book, Random(3))
    for _ in range(40):
        session.step()
    assert len(session.closed) > len(session.good) > 0
    assert session.ratings
    assert session.numbers
