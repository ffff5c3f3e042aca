"""Counters: what outputs do is counted from their edges, and bulbs and relays apart."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from controller.enlarger.counters import Count, Life, Part, Tally, reminders
from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.keeper import Edge
from drivers import counters_file


def test_edges_are_counted() -> None:
    """An operation is on and off again; the longest on-time is the longest without a break."""
    tally = Tally(0, {"lamp": False})
    assert not tally.edge(Edge("lamp", True, ns(1)))
    assert not tally.edge(Edge("lamp", True, ns(2)))  # told twice
    assert tally.edge(Edge("lamp", False, ns(4)))
    assert not tally.edge(Edge("lamp", False, ns(5)))
    tally.edge(Edge("lamp", True, ns(6)))
    assert tally.edge(Edge("lamp", None, ns(7)))  # unknown: it is not counted as lit
    assert tally.take(ns(9)) == {"lamp": Count(4.0, 3.0, 2)}
    assert tally.take(ns(10)) == {}


def test_a_light_that_burns_on_is_counted_as_far_as_it_went() -> None:
    """A safelight that was lit from the start counts its time, and its whole on-time as one."""
    tally = Tally(0, {"ceiling": True, "lamp": False})
    assert tally.take(ns(10)) == {"ceiling": Count(10.0, 10.0, 0)}
    tally.edge(Edge("ceiling", False, ns(15)))
    assert tally.take(ns(20)) == {"ceiling": Count(5.0, 15.0, 0)}


def test_reminders_come_before_the_end_and_at_it() -> None:
    """From nine tenths of a life on one is told, and at its end how to count anew."""
    lives = {"lamp": Life(50, 1000), "ceiling": Life()}
    used = Count(44 * 3600.0, operations=899)
    assert reminders({"lamp": used, "ceiling": Count(1e9)}, lives) == []
    assert reminders({"lamp": Count(45 * 3600.0)}, lives) == [
        "lamp: its bulb has burnt 45.0 of 50 h; have a new one ready"
    ]
    assert reminders({"lamp": Count(operations=1000)}, lives) == [
        "lamp: its relay has worked 1,000 of 1,000 times; change it, then "
        "`dryside rig counters reset lamp --relay`"
    ]


def test_the_file_adds_up_and_begins_anew(tmp_path: Path) -> None:
    """Every rig has counters of its own, and a changed bulb leaves the relay's as they are."""
    counters_file.add(tmp_path, "mine", {"lamp": Count(10.0, 6.0, 2)})
    counters_file.add(tmp_path, "mine", {"lamp": Count(5.0, 5.0, 1), "ceiling": Count(1.0)})
    counters_file.add(tmp_path, "other", {"lamp": Count(1.0, 1.0, 1)})
    assert counters_file.read(tmp_path, "mine")["lamp"] == Count(15.0, 6.0, 3)
    counters_file.reset(tmp_path, "mine", "lamp", [Part.BULB], "2031-05-01")
    assert counters_file.read(tmp_path, "mine") == {
        "lamp": Count(0.0, 0.0, 3, "2031-05-01"),
        "ceiling": Count(1.0),
    }
    assert counters_file.read(tmp_path, "other")["lamp"].operations == 1


def test_two_may_add_at_once(tmp_path: Path) -> None:
    """Nothing is lost where the engine and a command write at the same time."""

    def add() -> None:
        for _ in range(20):
            counters_file.add(tmp_path, "mine", {"lamp": Count(1.0, 1.0, 1)})

    threads = [threading.Thread(target=add) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert counters_file.read(tmp_path, "mine")["lamp"].operations == 80


def test_a_damaged_file_is_left_as_it_is(tmp_path: Path) -> None:
    """A file that cannot be read is refused, and not written over."""
    (tmp_path / counters_file.FILE).write_text("{")
    with pytest.raises(BadInput, match="cannot be read"):
        counters_file.add(tmp_path, "mine", {"lamp": Count(1.0)})
    assert (tmp_path / counters_file.FILE).read_text() == "{"
