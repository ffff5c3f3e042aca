"""How soon a press is answered, through the real engine and keeper, on the imagined board.

The press comes in by the engine's socket, as a terminal's does; a wired pedal comes by a pipe of
the same loop. A sound counts from when the engine tells its clients of it, which is after the
sounder was told to play: the figure is an upper bound of the command's latency. What a sound card
adds is not in it. The relay counts from when the board is written to (its own clock, which is
the same monotonic one).
"""

from __future__ import annotations

import os
import tempfile
import uuid
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from time import monotonic, monotonic_ns, sleep

from controller.exposing.bench import State, View
from controller.exposing.told import CurtainIs, LowerCurtain, Press, Run
from controller.ports import Cue, PortFault, Sound
from drivers import pid_files
from drivers.engine_words import FromEngine, Leave
from drivers.places import HOME_VARIABLE, run_folder
from ui.attach import EngineClient, attach
from ui.measure.figures import Errors, errors_of
from ui.unit import Unit, unit_for

GOAL_SOUND_MS, GOAL_RELAY_MS = 50.0, 5.0
QUICK = (
    "foot.deaf_s=0.05",
    "foot.lead_in_s=0.02",
    "lamp.longest_on_s=3600",
    'sounder.driver="silent"',
)
DOWN_S, REST_S, LIT_S = 0.05, 0.12, 0.1  # a tap; longer than the deaf moment; before a pause
WAIT_S = 10.0


@dataclass(frozen=True, slots=True)
class FootReport:
    """Latencies in microseconds."""

    press_to_sound: Errors  # a press at a prompt, acknowledged
    pause_to_sound: Errors  # a press while light falls, acknowledged
    pause_to_relay: Errors  # from the down edge to the relay's command

    def to_json(self) -> dict[str, object]:
        """Give everything as plain data."""
        return asdict(self)

    def table(self) -> str:
        """Print as a person reads it."""
        rows = (
            ("press to sound, at a prompt", self.press_to_sound, GOAL_SOUND_MS),
            ("press to sound, in the light", self.pause_to_sound, GOAL_SOUND_MS),
            ("press to relay, in the light", self.pause_to_relay, GOAL_RELAY_MS),
        )
        lines = [f"{'in ms':<30}{'median':>9}{'p99':>9}{'worst':>9}{'presses':>9}{'goal':>9}"]
        for name, errors, goal_ms in rows:
            figures = (errors.p50_us / 1e3, errors.p99_us / 1e3, errors.max_us / 1e3)
            lines.append(
                f"{name:<30}"
                + "".join(f"{figure:>9.2f}" for figure in figures)
                + f"{errors.count:>9}{goal_ms:>9g}"
            )
        return "\n".join([*lines, "", "to the commands, not to what a sound card and a relay add"])


def measure_foot(*, presses: int = 25, progress: Callable[[str], None] | None = None) -> FootReport:
    """Pause one long exposure ``presses`` times, and go on. Raises PortFault, EngineFault.

    In a home of its own; each takes about half a second.
    """
    if presses < 1:
        raise PortFault(f"{presses} presses can't be measured; 25 would be right")
    with tempfile.TemporaryDirectory() as home:
        before = os.environ.get(HOME_VARIABLE)
        os.environ[HOME_VARIABLE] = home  # the engine is a child, and asks for its places
        try:
            return _measure(presses, progress or (lambda _: None))
        finally:
            if before is None:
                del os.environ[HOME_VARIABLE]
            else:
                os.environ[HOME_VARIABLE] = before


def _measure(presses: int, progress: Callable[[str], None]) -> FootReport:
    run = run_folder()
    unit = unit_for("tungsten", QUICK)
    client = attach(run, unit.asked, unit.settings, unit.rig.digest())
    try:
        foot = _Foot(client)
        client.send(_long_strip(unit))
        while foot.reaches_a_prompt():  # sheet, lens, card, go
            foot.tap()
        for number in range(presses):
            progress(f"{number} of {presses} presses measured")
            sleep(LIT_S)
            foot.pause()
            sleep(REST_S)
            foot.tap()
            foot.until(lambda: foot.state is State.LIT)
        foot.pause()
        return FootReport(
            errors_of(foot.prompt_us),
            errors_of(foot.pause_us),
            errors_of(_relay_us(run / "wire", foot.pauses_ns)),
        )
    finally:
        client.send(Leave())
        client.close()
        engine = pid_files.find(run / pid_files.ENGINE_FILE)
        if engine is not None:
            engine.stop(5.0)
            engine.close()


def _long_strip(unit: Unit) -> Run:
    from controller.rig.lights import around
    from controller.strips.strip import Strip, plan_strip

    rig = unit.rig
    plan = plan_strip(Strip(base_s=600, patches=2), rig.calibration(), rig.limits(), around(rig))
    return Run(uuid.uuid4().hex, plan)


class _Foot:
    """Presses, and takes the time until each is answered."""

    def __init__(self, client: EngineClient) -> None:
        self._client = client
        self.view = View()
        self.sounded_ns: int | None = None  # since the last press: when it was acknowledged
        self.prompt_us: list[float] = []
        self.pause_us: list[float] = []
        self.pauses_ns: list[int] = []

    @property
    def state(self) -> State:
        return self.view.state

    def tap(self) -> None:
        """Tap at a prompt, and wait for what it leads to."""
        pressed_ns = self._press()
        if self.sounded_ns is not None:
            self.prompt_us.append((self.sounded_ns - pressed_ns) / 1e3)
        sleep(DOWN_S)
        self._client.send(Press(False))
        self._hear_for(REST_S)

    def pause(self) -> None:
        """Press while light falls."""
        pressed_ns = self._press()
        self.pauses_ns.append(pressed_ns)
        if self.sounded_ns is not None:
            self.pause_us.append((self.sounded_ns - pressed_ns) / 1e3)
        self.until(lambda: self.state is State.PAUSED)
        sleep(DOWN_S)
        self._client.send(Press(False))
        self._hear_for(REST_S)

    def reaches_a_prompt(self) -> bool:
        """Wait for a prompt that takes a tap, or for light: then False."""
        self.until(lambda: self.state in (State.ASKING, State.WAITING, State.LIT))
        self._hear_for(REST_S)
        return self.state is not State.LIT

    def until(self, true: Callable[[], bool]) -> None:
        """Wait until something is so. Raises PortFault."""
        until_s = monotonic() + WAIT_S
        while not true():
            if monotonic() > until_s or self._client.closed:
                raise PortFault(f"the unit that is measured stays at {self.state.value!r}")
            self._take(self._client.receive(0.05))

    def _press(self) -> int:
        self.sounded_ns = None
        self._take(self._client.receive())
        pressed_ns = monotonic_ns()
        self._client.send(Press(True))
        self.until(lambda: self.sounded_ns is not None)
        return pressed_ns

    def _hear_for(self, seconds: float) -> None:
        until_s = monotonic() + seconds
        while (left_s := until_s - monotonic()) > 0:
            self._take(self._client.receive(left_s))

    def _take(self, messages: list[FromEngine]) -> None:
        now_ns = monotonic_ns()
        for message in messages:
            match message:
                case Cue(sound=Sound.PRESS):
                    self.sounded_ns = self.sounded_ns or now_ns
                case View():
                    self.view = message
                case LowerCurtain(down=down):
                    self._client.send(CurtainIs(down))
                case _:
                    pass


def _relay_us(wire: Path, pauses_ns: list[int]) -> list[float]:
    """Give how long after each press the lamp's line was written to."""
    lines = (line.split() for line in wire.read_text().splitlines())
    off_ns = [int(at) for at, name, _, lit in lines if name == "lamp" and lit == "0"]
    found = ((pressed, [off for off in off_ns if off >= pressed]) for pressed in pauses_ns)
    return [(min(after) - pressed) / 1e3 for pressed, after in found if after]
