"""The engine's spoken notes: a thread listens while a wet pedal is held, and the sound is kept.

The thread begins to listen when the pedal goes down, so that no first word is lost; a mere tap
is forgotten. Sound stays in memory while it is heard, and its file is written by the desk's
thread, which begins nothing while the lamp is lit.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import NamedTuple

from controller.ports import PortFault
from controller.rig.model import Rig
from controller.trays.notes import LEAST_S, Spoken, new_path, write_sound
from drivers.desk_store import DeskStore
from drivers.recorder import Microphone, Recorder

CLOSE_S = 2.0


class Heard(NamedTuple):
    """A note was heard; ``mark`` is its sheet's."""

    mark: str
    lasts_s: float


class EngineNotes:
    """Takes notes, where the rig has a microphone. ``wake`` is called when there is news."""

    def __init__(
        self,
        rig: Rig,
        store: DeskStore,
        folder: Path,
        wake: Callable[[], None],
        *,
        recorder: Recorder | None = None,
    ) -> None:
        if recorder is None and rig.notes is not None:
            recorder = Microphone(rig.notes.microphone)
        self._longest_s = rig.notes.longest_s if rig.notes else 60.0
        self._store = store
        self._folder = folder
        self._wake = wake
        self._change = threading.Condition()
        self._is_wanted = False
        self._presses = 0
        self._ends = False
        self._mark: str | None = None  # whose note it is, once it is one
        self._news: deque[Heard | str] = deque()
        self._thread: threading.Thread | None = None
        if recorder is not None:
            self._thread = threading.Thread(
                target=self._run, args=(recorder,), name="notes", daemon=True
            )
            self._thread.start()

    def __bool__(self) -> bool:
        """Is there a microphone?"""
        return self._thread is not None

    def listen(self) -> None:
        """The pedal went down: it may become a note. Returns at once."""
        with self._change:
            self._presses += 1
            self._is_wanted, self._mark = True, None
            self._change.notify_all()

    def keep(self, mark: str) -> None:
        """The pedal was held and came up: what was heard is a note. Returns at once."""
        self._let_go(mark)

    def forget(self) -> None:
        """It was a tap: nothing is kept. Returns at once."""
        self._let_go(None)

    def news(self) -> list[Heard | str]:
        """Give what became of notes since the last call: a note, or a sentence of what is wrong."""
        return [self._news.popleft() for _ in range(len(self._news))]

    def close(self) -> None:
        """Let go of the microphone."""
        if self._thread is None:
            return
        with self._change:
            self._ends, self._is_wanted = True, False
            self._change.notify_all()
        self._thread.join(CLOSE_S)

    # -- the thread --------------------------------------------------------------------------

    def _let_go(self, mark: str | None) -> None:
        with self._change:
            self._is_wanted, self._mark = False, mark
            self._change.notify_all()

    def _run(self, recorder: Recorder) -> None:
        while True:
            with self._change:
                self._change.wait_for(lambda: self._ends or self._is_wanted)
                if self._ends:
                    return
                press = self._presses
            try:
                samples = self._hear(recorder)
            except PortFault as fault:
                self._tell(str(fault))
                self._wait_for_release(press)
                continue
            with self._change:
                mark, self._mark = self._mark, None
            spoken = Spoken(samples)
            if mark is not None and spoken.lasts_s >= LEAST_S:
                path = new_path(self._folder, mark, datetime.now())
                self._store.do(path, partial(write_sound, path, spoken))
                self._tell(Heard(mark, spoken.lasts_s))

    def _wait_for_release(self, press: int) -> None:
        """Try the microphone once for each press, not again and again."""
        with self._change:
            self._change.wait_for(lambda: not self._is_wanted or self._presses != press)

    def _hear(self, recorder: Recorder) -> bytes:
        """Listen until the pedal comes up; of a very long note the beginning is kept."""
        heard, lasts_s = bytearray(), 0.0
        recorder.open()
        try:
            while self._is_wanted:
                block = recorder.read()
                if lasts_s < self._longest_s:
                    heard += block
                    lasts_s += Spoken(block).lasts_s
        finally:
            recorder.close()
        return bytes(heard)

    def _tell(self, news: Heard | str) -> None:
        self._news.append(news)
        self._wake()
