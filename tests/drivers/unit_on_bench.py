"""A whole unit for tests: real engine, real keeper, the board that is a text file."""

from __future__ import annotations

import json
import os
import select
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from controller.book.book import Book
from controller.events import RunEnded
from controller.exposing.bench import PaperView, State, View
from controller.exposing.told import CurtainIs, LowerCurtain, Press, Run
from controller.plan import Plan
from controller.ports import Cue, Wants
from controller.rig.file import load_rig
from drivers import pid_files
from drivers.places import book_path, run_folder
from sim.replay import read_wire
from ui.attach import EngineClient, attach

QUICK = ("foot.deaf_s=0.05", "foot.lead_in_s=0.1", "foot.long_press_s=0.5")
WAIT_S = 30.0


class Bench:
    """An engine that was started for one test, with a client that taps at prompts."""

    def __init__(self, settings: tuple[str, ...] = QUICK) -> None:
        self.run_folder = run_folder()
        self.settings = settings
        self.rig = load_rig("tungsten", settings)
        self.view = View()
        self.paper = PaperView(0)
        self.cues: list[Cue] = []
        self.ended: RunEnded | None = None
        self.taps = True
        self.client = self.attach()

    def attach(self) -> EngineClient:
        return attach(self.run_folder, "tungsten", self.settings, self.rig.digest())

    @property
    def engine_pid(self) -> int:
        return self._pid(pid_files.ENGINE_FILE)

    @property
    def keeper_pid(self) -> int:
        return self._pid(pid_files.KEEPER_FILE)

    def _pid(self, name: str) -> int:
        return int(json.loads((self.run_folder / name).read_text())["pid"])

    def start(self, plan: Plan, record_id: str = "r1") -> None:
        self.ended = None
        self.client.send(Run(record_id, plan, "{}", "tungsten"))

    def until(self, done: Callable[[], bool], wait_s: float = WAIT_S) -> None:
        """Follow the engine, tapping at prompts, until something is so."""
        end_s = time.monotonic() + wait_s
        while not done():
            assert time.monotonic() < end_s, f"waited in vain: {self.view}, {self.cues[-3:]}"
            for message in self.client.receive(0.01):
                match message:
                    case View():
                        self.view = message
                    case PaperView():
                        self.paper = message
                    case Cue():
                        self.cues.append(message)
                        if self.taps and message.wants in (Wants.CONFIRM, Wants.GO):
                            if self.view.state is State.PAUSED:
                                continue
                            time.sleep(0.06)
                            self.tap()
                    case LowerCurtain(down=down):
                        self.client.send(CurtainIs(down))
                    case RunEnded():
                        self.ended = message
                    case _:
                        pass

    def tap(self) -> None:
        self.client.send(Press(True))
        self.client.send(Press(False))

    def lamp(self) -> list[tuple[int, bool]]:
        wire = self.run_folder / "wire"
        if not wire.exists():
            return []
        return [(e.at_ns, e.lit) for e in read_wire(wire) if e.output == "lamp"]

    def lit(self) -> bool:
        edges = self.lamp()
        return bool(edges) and edges[-1][1]

    def until_lit(self) -> None:
        self.until(self.lit)

    def wait_dark(self, wait_s: float = 5.0) -> int:
        """Wait for the lamp's line to be off, whoever puts it off; gives when."""
        end_s = time.monotonic() + wait_s
        while self.lit():
            assert time.monotonic() < end_s, "the lamp stayed on"
            time.sleep(0.002)
        return self.lamp()[-1][0]

    def book(self) -> Book:
        from datetime import UTC, datetime

        return Book.open(book_path(), now=lambda: datetime.now(UTC))

    def close(self) -> None:
        from drivers.all_safe import safe_now
        from drivers.places import board_options

        self.client.close()
        safe_now(
            self.rig.lines(), "sim", board_options(self.rig, self.run_folder), run=self.run_folder
        )


@contextmanager
def unit(home: Path, settings: tuple[str, ...] = QUICK) -> Iterator[Bench]:
    before = os.environ.get("DRYSIDE_HOME")
    os.environ["DRYSIDE_HOME"] = str(home)
    try:
        bench = Bench(settings)
        try:
            yield bench
        finally:
            bench.close()
    finally:
        if before is None:
            del os.environ["DRYSIDE_HOME"]
        else:
            os.environ["DRYSIDE_HOME"] = before


def is_alive(pid: int) -> bool:
    """Tell whether any thread of a process still lives, whether or not somebody buries it.

    /proc says "zombie" as soon as the first thread has ended; the others may still hold its locks.
    """
    try:
        fd = os.pidfd_open(pid)
    except ProcessLookupError:
        return False
    try:
        return not select.select([fd], (), (), 0)[0]
    finally:
        os.close(fd)
