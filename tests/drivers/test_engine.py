"""The unit as processes: engine and keeper really run, really die, and leave the lamp dark.

Bounds on time are the design's, plus a margin for a machine that is busy with other things.
"""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from controller.desk.desk import Desk
from controller.events import Fate
from controller.exposing.bench import State
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Sound
from drivers.engine_words import Arrange
from tests.drivers.unit_on_bench import QUICK, Bench, is_alive, unit
from ui.attach import running_record
from ui.unit import open_book

OFF_S = 0.25
NOISE_S = 0.15

pytestmark = pytest.mark.real


def plan(*doses_s: float) -> Plan:
    exposures = [
        action
        for index, dose_s in enumerate(doses_s)
        for action in (Go(f"patch {'ABCDE'[index]}", lead_in_s=0.1), Expose("ABCDE"[index], dose_s))
    ]
    return Plan("strip", "a strip", (Sheet(203, 25), *exposures))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with unit(tmp_path) as made:
        yield made


def test_a_plan_is_carried_out_and_the_book_has_the_edges(bench: Bench) -> None:
    """Each pulse is as long as asked for, on the wire and in the book alike."""
    bench.start(plan(0.5, 0.8))
    bench.until(lambda: bench.ended is not None)
    assert bench.ended
    assert bench.ended.fate is Fate.DONE
    edges = bench.lamp()
    assert [lit for _, lit in edges] == [True, False, True, False]
    lag_s = bench.rig.lamp.cold_lag_s
    on_s = [(edges[1][0] - edges[0][0]) / 1e9, (edges[3][0] - edges[2][0]) / 1e9]
    assert on_s[0] == pytest.approx(0.5 + lag_s, abs=0.03)
    bench.close()  # the last rows are written when the engine has ended
    with bench.book() as book:
        page = book.record("r1")
    assert page
    in_book = [p.on_time_s for e in page.exposures for p in e.pulses]
    assert in_book == pytest.approx(on_s, abs=0.01)


def test_a_terminal_that_is_killed_costs_no_exposure(bench: Bench, tmp_path: Path) -> None:
    """kill -9 of the client in the middle of a pulse: the pulse is whole, the plan goes on."""
    code = (
        "import sys, time\n"
        "from tests.drivers.unit_on_bench import Bench\n"
        "from tests.drivers.test_engine import plan\n"
        "b = Bench(); b.start(plan(1.0, 0.5)); b.until(lambda: False, 60)\n"
    )
    child = subprocess.Popen([sys.executable, "-c", code], cwd=Path(__file__).parents[2])
    bench.taps = False  # the other terminal taps
    bench.until_lit()
    child.send_signal(signal.SIGKILL)
    child.wait()
    lit_ns = bench.lamp()[-1][0]
    off_ns = bench.wait_dark()
    lag_s = bench.rig.lamp.cold_lag_s
    assert (off_ns - lit_ns) / 1e9 == pytest.approx(1.0 + lag_s, abs=0.03)
    bench.until(lambda: bench.view.state is State.WAITING)
    time.sleep(0.1)
    bench.tap()
    bench.until(lambda: bench.ended is not None)
    assert bench.ended
    assert bench.ended.fate is Fate.DONE


@pytest.mark.parametrize("sent", [signal.SIGKILL, signal.SIGSTOP, signal.SIGTERM, signal.SIGHUP])
def test_engine_gone_or_frozen_lamp_off(bench: Bench, sent: signal.Signals) -> None:
    """Whatever happens to the engine, the keeper puts the lamp off within 250 ms."""
    bench.start(plan(20.0))
    bench.until_lit()
    time.sleep(0.2)
    pid = bench.engine_pid
    sent_ns = time.monotonic_ns()
    os.kill(pid, sent)
    dark_ns = bench.wait_dark()
    assert (dark_ns - sent_ns) / 1e9 < OFF_S + NOISE_S
    if sent is signal.SIGSTOP:
        os.kill(pid, signal.SIGCONT)
        bench.taps = False
        bench.until(lambda: bench.view.state is State.PAUSED)


@pytest.mark.parametrize("sent", [signal.SIGKILL, signal.SIGSTOP])
def test_keeper_gone_or_frozen_the_engine_takes_the_lines(
    bench: Bench, sent: signal.Signals
) -> None:
    """The engine puts the lamp off, starts another keeper, and the sheet gets what was left."""
    bench.start(plan(1.5))
    bench.until_lit()
    time.sleep(0.4)
    old = bench.keeper_pid
    sent_ns = time.monotonic_ns()
    os.kill(old, sent)
    dark_ns = bench.wait_dark()
    assert (dark_ns - sent_ns) / 1e9 < OFF_S + NOISE_S
    bench.taps = False
    bench.until(lambda: bench.view.state is State.PAUSED)
    assert not is_alive(old)
    assert bench.keeper_pid != old
    time.sleep(0.1)
    bench.tap()
    bench.until(lambda: bench.ended is not None)
    bench.close()
    with bench.book() as book:
        assert book.delivered_s("r1", bench.view.mark)["A"] == pytest.approx(1.5, abs=0.05)


def test_both_killed_safe_puts_the_lamp_off(bench: Bench) -> None:
    """With engine and keeper killed the line holds its level; ``dryside safe`` takes it."""
    bench.start(plan(20.0))
    bench.until_lit()
    for pid in (bench.engine_pid, bench.keeper_pid):
        os.kill(pid, signal.SIGKILL)
    code = "import sys; from ui.cli import main; sys.argv = ['dryside', 'safe']; main()"
    done = subprocess.run([sys.executable, "-P", "-c", code], check=False, capture_output=True)
    assert done.returncode == 0, done.stderr
    assert not bench.lit()


def test_what_a_killed_engine_left_is_told_and_the_rest_is_given(bench: Bench) -> None:
    """A ran, B was cut off by kill -9: the next engine reconciles, and the rest adds up."""
    bench.start(plan(0.5, 3.0))
    bench.until(lambda: len(bench.lamp()) == 3)
    time.sleep(0.5)
    os.kill(bench.engine_pid, signal.SIGKILL)
    bench.wait_dark()
    edges = bench.lamp()
    until_s = time.monotonic() + 30
    while is_alive(bench.keeper_pid) or is_alive(bench.engine_pid):
        assert time.monotonic() < until_s, "the processes have not ended"
        time.sleep(0.01)
    bench.client.close()
    with open_book() as book:  # any command that opens it settles what the journal knows
        found = book.interrupted()
    assert len(found) == 1
    on_s = (edges[3][0] - edges[2][0]) / 1e9
    lag_s = bench.rig.lamp.cold_lag_s
    b_s = found[0].delivered_s["B"]
    assert b_s == pytest.approx(on_s - lag_s, abs=0.1)
    assert found[0].tell().startswith(f"{found[0].mark}: patch A done, B ")
    assert found[0].certain, "the keeper ended in order: nothing is left to guess"
    bench.client = bench.attach()


def test_a_run_at_work_is_known_to_be_at_work(bench: Bench) -> None:
    """Its record is open, but nobody may take it for an interrupted one."""
    assert running_record(bench.run_folder) == ""
    bench.start(plan(5.0))
    bench.until_lit()
    assert running_record(bench.run_folder) == "r1"


def test_a_screen_that_comes_in_while_paper_is_out_is_asked_to_be_black(bench: Bench) -> None:
    """The curtain is down: a terminal that attaches now gets it before anything else."""
    from controller.exposing.told import LowerCurtain
    from controller.plan import Curtain

    actions = (Sheet(100, 20), Go("a", lead_in_s=0.1), Curtain(True), Expose("A", 5.0))
    bench.start(Plan("t", "t", actions))
    bench.until_lit()
    from ui.attach import attach

    late = attach(bench.run_folder, "tungsten", bench.settings, bench.rig.digest(), screen=True)
    told = [m for _ in range(10) for m in late.receive(0.1)]
    late.close()
    assert LowerCurtain(True) in told


def test_strip_results_come_from_the_book(tmp_path: Path) -> None:
    """The whole command through real processes: on-times, fate, and simulated densities."""
    code = (
        "import sys; from ui.cli import main; sys.argv = ['dryside', 'strip', '--real-time',"
        "'--base', '0.6', '--step', '1', '--patches', '2', '--mode', 'window', '--json',"
        "'--set', 'foot.lead_in_s=0.1', '--set', 'simulator.hands.gap_s=[1.0,1.2]',"
        "'--set', 'simulator.easel_lux=40', '--set', 'simulator.hands.sheet_s=[0.2,0.3]'];"
        "main()"
    )
    env = {**os.environ, "DRYSIDE_HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], check=False, capture_output=True, env=env, timeout=120
    )
    assert done.returncode == 0, done.stderr.decode()
    import json

    result = json.loads(done.stdout)
    assert [p["letter"] for p in result["patches"]] == ["A", "B"]
    for patch in result["patches"]:
        assert patch["delivered_dose_s"] == pytest.approx(patch["planned_dose_s"], abs=0.05)
    assert result["patches"][0]["density"] < result["patches"][1]["density"]


def test_a_memory_card_that_stalls_costs_no_heartbeat_and_no_edge(bench: Bench) -> None:
    """While another writer holds the book for 0.8 s the light waits, and then is whole; a stall
    while the lamp is lit changes nothing.
    """
    bench.taps = False
    bench.start(plan(1.0))
    bench.until(lambda: bench.view.state is State.ASKING)
    time.sleep(0.1)
    bench.tap()
    bench.until(lambda: bench.view.state is State.WAITING)
    time.sleep(0.2)  # what the tap had written is in the book now
    card = sqlite3.connect(bench.run_folder.parent / "book.sqlite", isolation_level=None)
    with closing(card):
        card.execute("BEGIN IMMEDIATE")
        held_ns = time.monotonic_ns()
        bench.tap()
        bench.until(lambda: time.monotonic_ns() - held_ns > 800_000_000)
        assert not bench.lit(), "light before its intention was written"
        card.execute("ROLLBACK")
        bench.until_lit()
        card.execute("BEGIN IMMEDIATE")
        time.sleep(0.6)
        card.execute("ROLLBACK")
    bench.until(lambda: bench.ended is not None)
    edges = bench.lamp()
    lag_s = bench.rig.lamp.cold_lag_s
    assert len(edges) == 2
    assert (edges[1][0] - edges[0][0]) / 1e9 == pytest.approx(1.0 + lag_s, abs=0.03)
    assert not [cue for cue in bench.cues if "keeper" in cue.text]


def test_a_desk_that_cannot_be_kept_costs_no_exposure_its_record(bench: Bench) -> None:
    """A folder where the desk is to be written: told in a sentence, and the book has the strip."""
    (bench.run_folder.parent / "desk.json.part").mkdir()
    bench.client.send(Arrange(Desk(sheets=2).model_dump_json()))
    bench.until(lambda: any("not kept over the night" in cue.text for cue in bench.cues))
    bench.start(plan(0.5))
    bench.until(lambda: bench.ended is not None)
    bench.close()
    with bench.book() as book:
        page = book.record("r1")
    assert page
    assert [len(exposure.pulses) for exposure in page.exposures] == [1]


def test_a_lamp_that_is_not_known_to_be_off_is_told(tmp_path: Path) -> None:
    """When the lamp's output no longer tells what it is, that is said with a fault, and once."""
    with unit(tmp_path, (*QUICK, "board.sim.fail=write-fails-once=1")) as bench:
        bench.start(plan(0.5))
        bench.until(lambda: bench.ended is not None)
        told = [cue for cue in bench.cues if "lamp is not known to be off" in cue.text]
        assert [cue.sound for cue in told] == [Sound.FAULT]
