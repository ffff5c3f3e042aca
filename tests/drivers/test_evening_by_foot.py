"""A whole evening with one pedal and by ear alone: nothing is looked at, no key is pressed."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from controller.desk.desk import Desk
from controller.events import Fate
from controller.exposing.told import CurtainIs, LowerCurtain, Press
from controller.ports import Cue, Sound, Wants
from controller.strips.cross import Cross, Steps
from controller.strips.strip import Strip
from drivers.engine_words import Arrange
from tests.drivers.unit_on_bench import QUICK, Bench, unit
from ui.unit import open_book

pytestmark = pytest.mark.real

SETTINGS = (*QUICK, "foot.choice_s=0.8")
LONG_S = 0.6


class Ear:
    """Hears cues and has one foot."""

    def __init__(self, bench: Bench) -> None:
        self._client = bench.client
        self.heard: list[Cue] = []

    def listen(self, for_s: float = 0.02) -> list[Cue]:
        new = []
        for message in self._client.receive(for_s):
            if isinstance(message, Cue):
                new.append(message)
            elif isinstance(message, LowerCurtain):
                self._client.send(CurtainIs(message.down))
        self.heard += new
        return new

    def until(self, wanted: str = "", sound: Sound | None = None, wait_s: float = 20) -> Cue:
        """Wait for words, or for a sound."""
        end_s = time.monotonic() + wait_s
        while True:
            for cue in self.listen():
                if (wanted and wanted in cue.text) or (sound and cue.sound is sound):
                    return cue
            assert time.monotonic() < end_s, f"{wanted or sound} was never heard: {self.heard[-5:]}"

    def press(self, for_s: float) -> None:
        self._client.send(Press(True))
        time.sleep(for_s)
        self._client.send(Press(False))

    def tap(self) -> None:
        time.sleep(0.1)  # the deaf moment
        self.press(0.05)

    def choose(self, word: str) -> None:
        """A long press, and a tap when the word is spoken."""
        time.sleep(0.1)
        self._client.send(Press(True))
        time.sleep(LONG_S)
        self._client.send(Press(False))
        self.take(word)

    def take(self, word: str) -> None:
        """A tap when the word is spoken."""
        end_s = time.monotonic() + 20
        while True:
            for cue in self.listen():
                if cue.wants is Wants.CHOICE and cue.text == word:
                    self.tap()
                    return
            assert time.monotonic() < end_s, f"{word!r} was never offered: {self.heard[-5:]}"

    def follow(self, end: str = "done") -> None:
        """Tap at every prompt until the plan is over."""
        end_s = time.monotonic() + 60
        while True:
            for cue in self.listen():
                if cue.text == end:
                    return
                if cue.wants in (Wants.CONFIRM, Wants.GO) and cue.sound is not Sound.PAUSED:
                    self.tap()
            assert time.monotonic() < end_s, f"it never ended: {self.heard[-5:]}"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with unit(tmp_path, SETTINGS) as made:
        made.client.send(
            Arrange(Desk(strip=Strip(base_s=0.5, step="1", patches=2)).model_dump_json())
        )
        yield made


def test_an_evening_with_one_foot_and_two_ears(bench: Bench) -> None:
    """Focus, lens check, strip, pick, print, print again with a pause, and one abandoned."""
    ear = Ear(bench)
    ear.listen(0.3)

    ear.choose("focus light")
    ear.until("focus light")
    ear.tap()
    bench.until_lit()
    time.sleep(0.3)
    ear.press(0.05)  # seen enough: the light goes off on this edge
    ear.until("lens to")
    ear.tap()
    ear.until("done")
    assert not bench.lit()

    ear.choose("strip")
    ear.follow()
    ear.choose("pick")
    ear.until("A", wait_s=5)
    ear.until("A B", wait_s=5)
    ear.tap()
    ear.until("picked A B")

    ear.choose("print")
    ear.follow()

    ear.choose("print")
    ear.until("mark")
    ear.tap()
    ear.until("print,")
    ear.tap()
    bench.until_lit()
    time.sleep(0.2)
    ear.press(0.05)
    ear.until("paused")
    ear.tap()
    ear.follow()

    ear.choose("print")
    ear.until("mark")
    ear.tap()
    ear.until("print,")
    ear.tap()
    bench.until_lit()
    ear._client.send(Press(True))
    ear.until(sound=Sound.RISING)
    ear.until("abandoned")
    ear._client.send(Press(False))

    bench.close()
    with open_book() as book:
        records = book.records(20)[::-1]
        assert [(r.kind, r.fate) for r in records] == [
            ("focus", Fate.DONE),
            ("strip", Fate.DONE),
            ("print", Fate.DONE),
            ("print", Fate.DONE),
            ("print", Fate.ABANDONED),
        ]
        wanted_s = 0.5 * 2**0.5
        for record in records[2:4]:
            doses = book.delivered_s(record.record_id, record.marks[0])
            assert doses["print"] == pytest.approx(wanted_s, abs=0.06)
        pick = book.last_pick()
        assert pick
        assert pick.choice == "A-B"


@pytest.mark.long
def test_a_cross_its_cell_a_print_and_an_extra_by_one_foot(bench: Bench) -> None:
    """Cross, pick, print and add: two passes as the cell has them, and as much again of hard."""
    ear = Ear(bench)
    steps = [Steps(filter=name, base_s=0.5, step="1", steps=2) for name in ("00", "5")]
    strip = Strip(base_s=0.5, step="1", patches=2)
    desk = Desk(strip=strip, cross=Cross(soft=steps[0], hard=steps[1]))
    bench.client.send(Arrange(desk.model_dump_json()))
    ear.listen(0.3)

    ear.choose("cross")
    ear.follow()
    ear.choose("pick")
    ear.until("A2", wait_s=5)
    ear.tap()
    ear.until("picked A2, 1.0 and 0.5 seconds")

    ear.choose("print")
    ear.follow()
    ear.choose("add")
    ear.take("a stop")
    ear.follow()

    bench.close()
    with open_book() as book:
        records = book.records(20)[::-1]
        assert [(r.kind, r.fate) for r in records] == [("cross", Fate.DONE), ("print", Fate.DONE)]
        pick = book.last_pick()
        assert pick
        assert pick.choice == "A2"
        doses = book.delivered_s(records[1].record_id, records[1].marks[0])
    extra = next(label for label in doses if label.startswith("extra"))
    wanted = {"soft": 1.0, "hard": 0.5, extra: 0.5}
    assert doses == {label: pytest.approx(dose_s, abs=0.06) for label, dose_s in wanted.items()}
