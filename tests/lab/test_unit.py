"""The whole unit on a real kernel line device: a strip by pedal, and every way to die.

Runs only in the kernel lab (GPIOLAB=1), where the outside of the wires can be driven and read.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.environ.get("GPIOLAB") != "1", reason="needs the kernel lab")

LAMP, CEILING, PEDAL = 17, 22, 27
SOON_S = 1.0  # the lab's processor is emulated: what is proved here is who acts, times are loose


def rig_text(*, lamp_active: str) -> str:
    return f"""
name = "lab"
[lamp]
driver = "gpio"
address = {LAMP}
active = "{lamp_active}"
cold_lag_s = 0.05
[[safelight]]
name = "ceiling"
address = {CEILING}
contact = "normally-closed"
nominated = true
[[pedal]]
driver = "gpio"
address = {PEDAL}
[sounder]
driver = "silent"
speech = false
[foot]
deaf_s = 0.2
lead_in_s = 0.3
"""


class Lines:
    """The outside of the wires, in the printer's words."""

    def __init__(self, *, lamp_active: str, released: str = "holds") -> None:
        sys.path.insert(0, os.environ["GPIOLAB_TOOLS"])
        from gpiolab import Lab  # type: ignore[import-not-found]

        self.lab = Lab()
        self.holds = released == "holds"
        self.lab.release_holds(self.holds)
        self.on = 1 if lamp_active == "high" else 0
        # what a board's pull resistors do while nobody drives the lines
        self.lab.drive(LAMP, 1 - self.on)
        self.lab.drive(CEILING, 0)
        self.lab.drive(PEDAL, 1)

    def lit(self) -> bool:
        return bool(self.lab.value(LAMP) == self.on)

    def tap(self, for_s: float = 0.1) -> None:
        self.lab.drive(PEDAL, 0)
        time.sleep(for_s)
        self.lab.drive(PEDAL, 1)

    def edges(self) -> list[tuple[int, bool]]:
        """Give every change of the lamp's light that the kernel saw, direction changes apart."""
        light: list[tuple[int, bool]] = []
        for ns, _, level, _ in self.lab.log(LAMP):
            lit = level == self.on
            if lit != (light[-1][1] if light else False):
                light.append((ns, lit))
        return light

    def wait(self, lit: bool, wait_s: float = 20.0) -> None:
        end_s = time.monotonic() + wait_s
        while self.lit() != lit:
            assert time.monotonic() < end_s, f"the lamp never went {'on' if lit else 'off'}"
            time.sleep(0.002)


@pytest.fixture(
    params=["high, holds", pytest.param("low, holds", marks=pytest.mark.long), "low, reverts"]
)
def lines(request: pytest.FixtureRequest) -> Iterator[Lines]:
    """The lamp's active level, and what a line does whose owner is gone."""
    lamp_active, released = request.param.split(", ")
    lines = Lines(lamp_active=lamp_active, released=released)
    yield lines
    lines.lab.release_holds(True)


@pytest.fixture
def unit(lines: Lines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[object]:
    from controller.rig.file import load_rig
    from drivers.all_safe import safe_now
    from drivers.places import board_options, run_folder
    from ui.attach import attach

    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    path = tmp_path / "rig.toml"
    path.write_text(rig_text(lamp_active="high" if lines.on else "low"))
    rig = load_rig(path)
    lines.lab.clear_log()
    client = attach(run_folder(), str(path), (), rig.digest())
    try:
        yield client
    finally:
        client.close()
        safe_now(rig.lines(), "gpio", board_options(rig, run_folder()), run=run_folder())


def start(client: object, *doses_s: float) -> None:
    from controller.exposing.told import Run
    from controller.plan import Expose, Go, Plan, Sheet
    from ui.attach import EngineClient

    assert isinstance(client, EngineClient)
    exposures = [
        action
        for index, dose_s in enumerate(doses_s)
        for action in (Go(f"patch {'ABCDE'[index]}", lead_in_s=0.3), Expose("ABCDE"[index], dose_s))
    ]
    client.send(Run("r1", Plan("strip", "lab", (Sheet(200, 25), *exposures))))


def prompt(client: object, wanted: str, wait_s: float = 30.0) -> None:
    """Wait until something like this is said."""
    from controller.ports import Cue
    from ui.attach import EngineClient

    assert isinstance(client, EngineClient)
    end_s = time.monotonic() + wait_s
    heard: list[str] = []
    while not any(wanted in text for text in heard):
        assert time.monotonic() < end_s, f"{wanted!r} was never said, but {heard}"
        heard += [m.text for m in client.receive(0.1) if isinstance(m, Cue)]
    time.sleep(0.3)  # the deaf moment


def test_a_strip_by_pedal(lines: Lines, unit: object) -> None:
    """Two patches by the pedal's line: four edges and no more, from opening to closing."""
    start(unit, 0.5, 0.8)
    prompt(unit, "mark")
    lines.tap()
    for letter in "AB":
        prompt(unit, f"patch {letter}")
        lines.tap()
        lines.wait(True)
        lines.wait(False)
    prompt(unit, "done")
    edges = lines.edges()
    assert [lit for _, lit in edges] == [True, False, True, False]
    for (on_ns, _), (off_ns, _), dose_s in zip(edges[::2], edges[1::2], (0.5, 0.8), strict=True):
        print(f"asked {dose_s + 0.05:.3f} s, kernel saw {(off_ns - on_ns) / 1e9:.4f} s")
        assert (off_ns - on_ns) / 1e9 == pytest.approx(dose_s + 0.05, abs=0.05)


def test_soft_and_hard_by_pedal(lines: Lines, unit: object, tmp_path: Path) -> None:
    """A print of two passes and a burn: six edges in the order of its score, and no more."""
    from controller.exposing.bench import State, View
    from controller.exposing.told import Run
    from controller.plan import Expose
    from controller.rig.file import load_rig
    from controller.rig.lights import around
    from controller.score.change import with_burn
    from controller.score.new import new_score
    from controller.score.plan import plan_score
    from ui.attach import EngineClient

    assert isinstance(unit, EngineClient)
    rig = load_rig(tmp_path / "rig.toml")
    passes = ["soft:00:+0", "hard:5:-1/2"]
    sketch = {"sketch": ["SS", "QQ"], "regions": {"S": "sky", "Q": "quay"}}
    score = with_burn(new_score(1.2, passes, sketch, "lab"), "sky=+1/2@soft", "lab")
    plan = plan_score(score, rig.calibration(), rig.limits(), around(rig))
    doses_s = [action.dose_s for action in plan.actions if isinstance(action, Expose)]
    unit.send(Run("r1", plan))
    end_s = time.monotonic() + 120.0
    view: View | None = None
    begun = False  # before it, an engine that was just started shows a bench with nothing on it
    answered: tuple[State, int] | None = None  # one tap for each question, however late it is told
    while not (begun and view is not None and view.state is State.OVER):
        assert time.monotonic() < end_s, f"it came to no end: {view}"
        for told in unit.receive(0.1):
            view = told if isinstance(told, View) else view
        if view is None:
            continue
        begun = begun or view.state is not State.OVER
        asked = (view.state, view.action)
        if view.state in (State.ASKING, State.WAITING) and asked != answered:
            answered = asked
            time.sleep(0.4)  # the deaf moment
            lines.tap()
    edges = lines.edges()
    assert [lit for _, lit in edges] == [True, False] * len(doses_s)
    assert len(doses_s) == 3
    for (on_ns, _), (off_ns, _), dose_s in zip(edges[::2], edges[1::2], doses_s, strict=True):
        print(f"asked {dose_s + 0.05:.3f} s, kernel saw {(off_ns - on_ns) / 1e9:.4f} s")
        assert (off_ns - on_ns) / 1e9 == pytest.approx(dose_s + 0.05, abs=0.05)


def test_both_killed_the_stop_action_puts_the_lamp_off(
    lines: Lines, unit: object, tmp_path: Path
) -> None:
    """A line that holds its level after both were killed is dark once ``dryside safe`` ran.

    One that reverts is dark by its pull resistor, and stays so.
    """
    import json
    import subprocess

    from drivers.places import run_folder

    start(unit, 20.0)
    prompt(unit, "mark")
    lines.tap()
    prompt(unit, "patch A")
    lines.tap()
    lines.wait(True)
    for whom in ("keeper", "engine"):  # frozen first, so that neither sees the other die
        os.kill(json.loads((run_folder() / f"{whom}.pid").read_text())["pid"], signal.SIGSTOP)
    for whom in ("engine", "keeper"):
        os.kill(json.loads((run_folder() / f"{whom}.pid").read_text())["pid"], signal.SIGKILL)
    if lines.holds:
        assert lines.lit()
    else:
        lines.wait(False)
    safe = [sys.executable, "-P", "-c", "from ui.start import main; main()", "safe"]
    # as ExecStopPost= runs it
    subprocess.run([*safe, "--rig", str(tmp_path / "rig.toml")], check=True, timeout=120)
    lines.wait(False, 5.0)
    assert [lit for _, lit in lines.edges()] == [True, False]


def test_a_press_puts_the_lamp_off_at_once(lines: Lines, unit: object) -> None:
    """Down edge to lamp off, through pedal, engine and keeper."""
    start(unit, 20.0)
    prompt(unit, "mark")
    lines.tap()
    prompt(unit, "patch A")
    lines.tap()
    lines.wait(True)
    time.sleep(0.5)
    pressed_ns = time.monotonic_ns()
    lines.lab.drive(PEDAL, 0)
    lines.wait(False)
    lines.lab.drive(PEDAL, 1)
    took_s = (lines.edges()[-1][0] - pressed_ns) / 1e9
    print(f"pedal to dark: {took_s * 1000:.1f} ms")
    assert took_s < SOON_S
    prompt(unit, "paused")


@pytest.mark.parametrize("whom", ["engine", "keeper"])
@pytest.mark.parametrize(
    "sent",
    [
        *(signal.SIGKILL, signal.SIGSTOP, signal.SIGTERM),
        pytest.param(signal.SIGHUP, marks=pytest.mark.long),
    ],
)
def test_whoever_dies_the_lamp_goes_off(
    lines: Lines, unit: object, whom: str, sent: signal.Signals
) -> None:
    """Killed, frozen or ended: engine or keeper, another hand makes the line dark at once."""
    import json

    from drivers.places import run_folder

    start(unit, 20.0)
    prompt(unit, "mark")
    lines.tap()
    prompt(unit, "patch A")
    lines.tap()
    lines.wait(True)
    time.sleep(0.3)
    pid = json.loads((run_folder() / f"{whom}.pid").read_text())["pid"]
    sent_ns = time.monotonic_ns()
    os.kill(pid, sent)
    lines.wait(False, 5.0)
    took_s = (lines.edges()[-1][0] - sent_ns) / 1e9
    print(f"{whom} {sent.name}: dark after {took_s * 1000:.0f} ms")
    assert took_s < SOON_S
