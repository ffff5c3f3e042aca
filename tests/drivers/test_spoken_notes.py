"""Spoken notes: what is heard while the wet pedal is held is kept with its sheet."""

from __future__ import annotations

import math
import threading
import time
from array import array
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from controller.ports import Cue, PortFault, Sound
from controller.rig.file import load_rig
from controller.trays.notes import RATE_HZ, keep_typed, notes_in, read_sound
from drivers.desk_store import DeskStore
from drivers.engine_notes import EngineNotes, Heard
from drivers.engine_wet import HOLD_S, NO_MICROPHONE, WetFoot, told_of

MS = 1_000_000


class HeardTone:
    """A recorder that hears a tone, a tenth of a second at once."""

    def __init__(self, fault: str = "") -> None:
        self.blocks = 0
        self.is_open = False
        self.fault = fault

    def open(self) -> None:
        if self.fault:
            raise PortFault(self.fault)
        self.is_open = True

    def read(self) -> bytes:
        time.sleep(0.001)
        self.blocks += 1
        wave = (round(9000 * math.sin(n / 5)) for n in range(RATE_HZ // 10))
        return array("h", wave).tobytes()

    def close(self) -> None:
        self.is_open = False


class Ear:
    """A wet foot, its notes, and what was told of them."""

    def __init__(self, folder: Path, recorder: HeardTone | None) -> None:
        self.came = threading.Event()
        self.store = DeskStore(folder, self.came.set)
        self.notes = EngineNotes(
            load_rig("tungsten"), self.store, folder, self.came.set, recorder=recorder
        )
        self.taps: list[int] = []
        self.recorder = recorder
        self.foot = WetFoot(self.notes, tapped=self._tapped, mark=lambda: "K7")

    def _tapped(self, now_ns: int) -> list[Cue]:
        self.taps.append(now_ns)
        return [Cue("late")]

    def until(self, done: Callable[[], bool]) -> None:
        end_s = time.monotonic() + 30.0
        while not done():
            assert time.monotonic() < end_s, "waited in vain"
            time.sleep(0.002)

    def until_heard(self, blocks: int) -> None:
        recorder = self.recorder
        assert recorder is not None
        self.until(lambda: recorder.blocks >= blocks)

    def news(self) -> list[Heard | str]:
        told: list[Heard | str] = []

        def come() -> bool:
            told.extend(self.notes.news())
            return bool(told)

        self.until(come)
        return told

    def close(self) -> None:
        self.notes.close()
        self.store.close()


@pytest.fixture
def ear(tmp_path: Path) -> Iterator[Ear]:
    held = Ear(tmp_path, HeardTone())
    yield held
    held.close()


def test_what_is_said_while_the_pedal_is_held_is_kept_with_its_sheet(ear, tmp_path):
    """A held pedal makes a sound file named by the mark, whole from the moment of the press."""
    assert ear.foot.edge(0, True) == []
    ear.until_heard(5)
    assert ear.foot.wake(round(HOLD_S * 1000) * MS) == [Cue(sound=Sound.PRESS)]
    assert ear.foot.edge(3000 * MS, False) == []
    (heard,) = ear.news()
    assert isinstance(heard, Heard)
    assert told_of(heard).text.startswith("note for K7, ")
    ear.store.flush()
    (note,) = notes_in(tmp_path)
    assert note.mark == "K7"
    assert note.lasts_s == pytest.approx(heard.lasts_s)
    assert note.lasts_s >= 0.5
    assert max(array("h", read_sound(note.path).samples)) > 8000
    assert ear.taps == []


def test_a_tap_is_for_the_trays_and_keeps_no_sound(ear, tmp_path):
    """A short press is answered by the trays, and what the microphone caught is forgotten."""
    ear.foot.edge(0, True)
    ear.until_heard(1)
    assert ear.foot.edge(200 * MS, False) == [Cue("late")]
    ear.until(lambda: not ear.recorder.is_open)
    assert ear.taps == [200 * MS]
    ear.store.flush()
    assert notes_in(tmp_path) == []


def test_nothing_is_written_while_the_lamp_is_lit(ear, tmp_path):
    """A note that ends while light falls waits in memory until the lamp is off."""
    ear.store.hold(lit=True)
    ear.foot.edge(0, True)
    ear.until_heard(5)
    ear.foot.wake(700 * MS)
    ear.foot.edge(2000 * MS, False)
    ear.news()
    assert notes_in(tmp_path) == []
    ear.store.hold(lit=False)
    ear.store.flush()
    assert len(notes_in(tmp_path)) == 1


def test_a_pedal_that_is_unplugged_keeps_what_was_said(ear, tmp_path):
    """A cable pulled in the middle of a word costs no word, and makes no tap."""
    ear.foot.edge(0, True)
    ear.until_heard(5)
    ear.foot.wake(700 * MS)
    ear.foot.gone()
    ear.news()
    ear.store.flush()
    assert len(notes_in(tmp_path)) == 1
    assert ear.taps == []


def test_a_microphone_that_fails_is_told_in_one_sentence(tmp_path):
    """A fault of the sound card is told, and the next press tries again."""
    held = Ear(tmp_path, HeardTone(fault="the microphone can't be heard"))
    try:
        for _ in range(2):
            held.foot.edge(0, True)
            assert held.news() == ["the microphone can't be heard"]
            held.foot.edge(100 * MS, False)
    finally:
        held.close()


def test_without_a_microphone_a_held_pedal_says_so(tmp_path):
    """Where the rig names no microphone a hold is answered by what is missing."""
    held = Ear(tmp_path, None)
    try:
        held.foot.edge(0, True)
        assert held.foot.wake(700 * MS) == [Cue(NO_MICROPHONE, Sound.ATTENTION)]
    finally:
        held.close()


def test_a_note_that_was_typed_waits_no_more(ear, tmp_path):
    """What is typed stands beside the sound, and is read with it."""
    ear.foot.edge(0, True)
    ear.until_heard(5)
    ear.foot.wake(700 * MS)
    ear.foot.edge(2000 * MS, False)
    ear.news()
    ear.store.flush()
    (note,) = notes_in(tmp_path)
    assert note.typed == ""
    keep_typed(note, " sky a little darker ")
    assert notes_in(tmp_path)[0].typed == "sky a little darker"


def test_what_is_no_note_is_passed_over(tmp_path):
    """Other files in the folder, and a sound file that is torn, are no notes."""
    folder = tmp_path / "notes"
    folder.mkdir()
    (folder / "K7-20261126-013000.wav").write_bytes(b"RIFF")
    (folder / "holiday.wav").write_bytes(b"")
    assert notes_in(tmp_path) == []
