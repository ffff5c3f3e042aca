"""Power fails at any instant: what was acknowledged is there, and what is told is true."""

from __future__ import annotations

import multiprocessing
import shutil
import time
from itertools import count
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

import pytest

from controller.book.book import Book
from controller.events import Event, RunBegun
from tests.controller.book.histories import expected, expected_sentence, held, history, now, told

KILLS = 24


def runs(seed: int) -> list[Event]:
    """Give the events of many runs, one after the other; the same for the same seed."""
    rng, marks = Random(seed), (f"M{n}" for n in count(1))
    return [event for n in range(300) for event in history(rng, f"{seed}-{n}", marks)]


def write_for_ever(path: str, seed: int, acks: Connection) -> None:
    """The child: acknowledge each event when its write has returned."""
    with Book.open(path, now=now) as book:
        for number, event in enumerate(runs(seed)):
            book.write(event)
            acks.send_bytes(number.to_bytes(4, "big"))


def state_after(events: list[Event]) -> tuple[object, object]:
    """Give what is to be held, and told, of the last run that was begun."""
    record_id = events[-1].record_id
    last = [event for event in events if event.record_id == record_id]
    return expected(last), expected_sentence(last)


def check(book: Book, events: list[Event], surely: int) -> int:
    """Hold a book against the events it may have; gives how many of them it has."""
    ids = list(dict.fromkeys(event.record_id for event in events[:surely]))
    for record_id in ids[:-1]:  # runs that were over
        of_run = [event for event in events if event.record_id == record_id]
        assert held(book, record_id) == expected(of_run)
        assert told(book, record_id) is None
    for number in (surely, surely + 1):  # the write in hand may have come through
        part = events[:number]
        if not part:
            if not book.records():
                return 0
            continue
        record_id = part[-1].record_id
        if book.record(record_id) is None:
            continue
        if (held(book, record_id), told(book, record_id)) == state_after(part):
            return number
    raise AssertionError(f"the book is not as it was after {surely} events")


@pytest.mark.real
def test_kill_9_at_any_instant_loses_nothing_that_was_acknowledged(path: Path):
    """A writer is killed at random moments, again and again, over the same book."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    rng = Random(9)
    for kill in range(KILLS):
        acks, far_end = context.Pipe(duplex=False)
        child = context.Process(target=write_for_ever, args=(str(path), kill, far_end))
        child.start()
        far_end.close()
        assert acks.poll(60)
        time.sleep(rng.uniform(0, 0.25))
        child.kill()
        child.join()
        surely = 0
        try:
            while True:
                surely = int.from_bytes(acks.recv_bytes(), "big") + 1
        except EOFError:
            acks.close()
        assert surely > 0
        with Book.open(path, now=now) as book:
            assert book.notices == []
            assert check(book, runs(kill), surely) >= surely


def test_a_torn_log_loses_only_what_was_in_its_torn_tail(tmp_path: Path, empty_book: bytes):
    """The write-ahead log is cut at random bytes: each event that ended before the cut is there."""
    path = tmp_path / "book.sqlite"
    path.write_bytes(empty_book)
    events = [event for seed in range(3) for event in history(Random(seed), f"run {seed}")][:60]
    log = path.with_name("book.sqlite-wal")
    ends: list[int] = []
    rng = Random(4)
    with Book.open(path, now=now) as book:
        for event in events:
            book.write(event)
            ends.append(log.stat().st_size)
        assert ends == sorted(set(ends)), "the log was emptied in between"
        cuts = [rng.randrange(ends[-1]) for _ in range(24)]
        cuts += [end + by for end in rng.sample(ends[:-1], 4) for by in (-1, 0, 1)]
        for number, cut in enumerate(cuts):
            folder = tmp_path / f"copy {number}"
            folder.mkdir()
            copy = folder / path.name
            shutil.copy(path, copy)
            torn = log.read_bytes()[:cut]
            copy.with_name(log.name).write_bytes(torn)
            surely = sum(end <= cut for end in ends)
            with Book.open(copy, now=now) as after:
                assert after.notices == []
                found = check(after, events, surely)
                assert found == surely
                after.write(RunBegun("next", "strip", "", "{}", "{}", {}, ""))
                assert after.records(limit=1)[0].record_id == "next"


def test_a_log_with_a_bad_byte_loses_only_what_comes_after_it(tmp_path: Path, empty_book: bytes):
    """A byte of the log that a card turned over costs no event that was before it."""
    path = tmp_path / "book.sqlite"
    path.write_bytes(empty_book)
    events = history(Random(2), "run")
    log = path.with_name("book.sqlite-wal")
    ends: list[int] = []
    with Book.open(path, now=now) as book:
        for event in events:
            book.write(event)
            ends.append(log.stat().st_size)
        rng = Random(5)
        for number in range(10):
            folder = tmp_path / f"copy {number}"
            folder.mkdir()
            copy = folder / path.name
            shutil.copy(path, copy)
            bad = rng.randrange(ends[0], ends[-1])
            content = bytearray(log.read_bytes())
            content[bad] ^= 0xFF
            copy.with_name(log.name).write_bytes(content)
            surely = sum(end <= bad for end in ends)
            with Book.open(copy, now=now) as after:
                assert check(after, events, surely) >= surely
