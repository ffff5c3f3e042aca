"""Outputs that are out of reach do not end the unit: it waits, says so, and comes back."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from controller.ports import Cue, PortFault
from controller.rig.file import load_rig
from drivers.engine import Engine
from drivers.keeper_link import KeeperLink
from drivers.places import book_path, room_path, run_folder
from tests.drivers.unit_on_bench import QUICK

pytestmark = pytest.mark.real


def test_a_keeper_that_cannot_be_started_is_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As with a pulled cable: one sentence, nothing lit meanwhile, and all is well afterwards."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    rig = load_rig("tungsten", QUICK)
    engine = Engine(rig, run=run_folder(), book=book_path(), room=room_path(), linger_s=0.0)
    told: list[str] = []
    tell = engine._tell

    def kept(cue: Cue) -> None:
        told.append(cue.text)
        tell(cue)

    monkeypatch.setattr(engine, "_tell", kept)
    restart = KeeperLink.restart
    tries = iter([True, True, False])

    def fails_twice(link: KeeperLink) -> None:
        if next(tries, False):
            raise PortFault("the relay board does not answer")
        restart(link)

    monkeypatch.setattr(KeeperLink, "restart", fails_twice)
    monkeypatch.setattr("drivers.engine_keeper.RESTART_NS", 50_000_000)
    try:
        os.kill(engine._keeper._link.pid, signal.SIGKILL)
        until_s = time.monotonic() + 30
        while not any("answer again" in text for text in told):
            assert time.monotonic() < until_s, told
            now_ns = time.monotonic_ns()
            engine._keeper.beat(now_ns)
            engine._take(engine._keeper.take(now_ns))
            engine._take_time()
            engine._wait()
        assert sum("nothing can be lit" in text for text in told) == 1
        assert engine._bench.lit["lamp"] is False
    finally:
        engine.close()
