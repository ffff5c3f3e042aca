"""How exactly the keeper times, beside simpler ways, all in one run and in turns.

The keeper is the real process, driven through the engine's own link; the load is a real Textual
screen under a pseudo-terminal. Turns are short, so that whatever else the machine does falls on
all of them alike.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import threading
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path
from time import monotonic_ns

from controller.keeper import MS, Cause, Ended, OutputRule, Pulse, Refused
from controller.ports import Line, PortFault
from drivers.keeper_link import KeeperLink
from drivers.keeper_words import Setup
from drivers.places import run_folder
from drivers.realtime import PRIORITY
from drivers.wire import Wire, pair
from ui.measure.bursts import Burst, Times
from ui.measure.figures import Errors, Ticks, TimingReport, errors_of, histogram_of

GAP_NS = 5 * MS
BEAT_NS = 50 * MS
TURN_NS = 2_500 * MS  # how long one turn takes, about
ROWS, COLUMNS = 40, 120
HISTOGRAM_US = 20_000
MISSED_ANYWAY, MISSED_PART = 5, 0.05  # more missed pulses than this is no measurement
START_S = 20.0
SLOWER = 20  # than asked a burst may be before its process counts as lost


def measure_timing(
    *,
    pulses: int = 1000,
    on_ms: float = 20.0,
    load: bool = True,
    setup: Setup | None = None,
    pin: int | None = None,
    progress: Callable[[str], None] | None = None,
) -> TimingReport:
    """Make ``pulses`` pulses of ``on_ms`` in each way and compare their edge errors.

    ``setup`` names the outputs to use (its first lamp is pulsed), else the imagined board, whose
    edges are written to a file; ``pin`` is a GPIO for the scripts, else gpiozero's mock pins.
    A run takes about ``4 * pulses * (on_ms + 5 ms)``. Raises PortFault.
    """
    if pulses < 1 or on_ms <= 0:
        raise PortFault(
            f"{pulses} pulses of {on_ms:g} ms can't be measured; "
            "1000 pulses of 20 ms would be right"
        )
    on_ns = int(on_ms * MS)
    turn = max(1, min(pulses, TURN_NS // (on_ns + GAP_NS)))
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(dir=_memory())))
        screen = stack.enter_context(_Child("busy_screen", pin, idle=not load))
        script = stack.enter_context(_Child("plain_script", pin))
        keeper = _KeeperPulses(setup or _imagined(folder), folder)
        stack.callback(keeper.close)
        latency = _Latency()
        for child in (screen, script):  # warmed up, and known to be there
            child.make(Burst(1, MS, MS))
            child.errors_us.clear()
        began_ns, before, drawn = monotonic_ns(), Ticks.now(), screen.redraws
        for made in range(0, pulses, turn):
            burst = Burst(min(turn, pulses - made), on_ns, GAP_NS)
            if progress:
                progress(f"{made} of {pulses} pulses measured")
            for way in (keeper, script, screen, latency):
                way.make(burst)
        lasted_s = (monotonic_ns() - began_ns) / 1e9
        return TimingReport(
            keeper=errors_of(keeper.errors_us),
            gpiozero_script=errors_of(script.errors_us),
            asyncio=errors_of(screen.errors_us),
            cyclictest=latency.errors(),
            missed=keeper.missed,
            pulses=pulses,
            on_ms=on_ms,
            load=load,
            redraws_per_s=round((screen.redraws - drawn) / lasted_s, 1),
            stolen_percent=Ticks.now().stolen_percent_since(before),
            processors=os.cpu_count() or 1,
            notes=(*keeper.notes, *latency.notes),
        )


def _memory() -> Path:
    """Find a folder in memory: a disk's file system would hold up the edges, a GPIO doesn't."""
    shared = Path("/dev/shm")
    return shared if os.access(shared, os.W_OK | os.X_OK) else run_folder()


def _imagined(folder: Path) -> Setup:
    return Setup(
        lines=(Line("lamp", 0),),
        rules=(OutputRule("lamp", safe_lit=False, lamp=True, longest_ns=60_000 * MS),),
        driver="sim",
        options={"wire": str(folder / "wire")},
        journal=str(folder / "journal"),
    )


class _KeeperPulses:
    """Pulses through the real keeper, asked for one by one as the engine does."""

    def __init__(self, setup: Setup, folder: Path) -> None:
        lamps = [rule.name for rule in setup.rules if rule.lamp]
        if not lamps:
            raise PortFault("there is no lamp among the outputs to be measured")
        self._lamp = lamps[0]
        self._link = KeeperLink.start(setup, run=folder)
        self._number = 0
        self.notes = self._link.notes
        self.errors_us: list[float] = []
        self.missed = 0

    def make(self, burst: Burst) -> None:
        """Make some pulses, again those that are missed. Raises PortFault when many are.

        A machine that stands still for a quarter of a second, as a virtual one may, makes the
        keeper refuse a command that has grown old: rightly, but it is no measurement.
        """
        self._link.receive(monotonic_ns())  # what the keeper said during the others' turns
        wanted = len(self.errors_us) + burst.count
        while len(self.errors_us) < wanted:
            self._pause(burst.gap_ns)
            self._number += 1
            now_ns = monotonic_ns()
            self._link.beat(now_ns)
            self._link.send(Pulse(self._number, self._lamp, burst.on_ns, now_ns + 1_000 * MS))
            why = self._await_end(burst.on_ns)
            if why:
                self.missed += 1
                if self.missed > MISSED_ANYWAY + len(self.errors_us) * MISSED_PART:
                    raise PortFault(f"{self.missed} pulses of the keeper were missed; one {why}")

    def _pause(self, duration_ns: int) -> None:
        until_ns = monotonic_ns() + duration_ns
        while (left_ns := until_ns - monotonic_ns()) > 0:
            select.select([self._link], (), (), left_ns / 1e9)
            self._link.receive(monotonic_ns())

    def _await_end(self, on_ns: int) -> str | None:
        """Wait for the end of the pulse in hand; gives what went wrong, or None."""
        beat_ns = monotonic_ns() + BEAT_NS
        while True:
            now_ns = monotonic_ns()
            if now_ns >= beat_ns:
                self._link.beat(now_ns)
                beat_ns = now_ns + BEAT_NS
            replies = self._link.receive(now_ns)
            lost = self._link.check(now_ns)
            if lost is not None:
                self._link.restart()
                return f"because {lost.why}"
            for reply in replies:
                if isinstance(reply, Refused):
                    return f"because {reply.why}"
                if isinstance(reply, Ended):
                    if reply.cause is not Cause.DEADLINE:
                        return f"was cut short ({reply.cause.value})"
                    self.errors_us.append(abs(reply.off_ns - reply.on_ns - on_ns) / 1e3)
                    return None
            select.select([self._link], (), (), (beat_ns - now_ns) / 1e9)

    def close(self) -> None:
        """End the keeper."""
        self._link.close()


class _Child:
    """A process that makes pulses in its own way, under a pseudo-terminal that is read."""

    def __init__(self, module: str, pin: int | None, *, idle: bool = False) -> None:
        self._module = module
        self.errors_us: list[float] = []
        self.redraws = 0
        self._screen, terminal = pty.openpty()
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        near, far = pair()
        arguments = [sys.executable, "-P", "-m", f"ui.measure.{module}", "--fd", str(far.fileno())]
        arguments += [] if pin is None else ["--pin", str(pin)]
        arguments += ["--idle"] if idle else []
        environment = {
            **os.environ,
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "TEXTUAL_FPS": "1000",  # flat out: not held to sixty pictures a second
        }
        try:
            self._process = subprocess.Popen(
                arguments,
                stdin=terminal,
                stdout=terminal,
                stderr=terminal,
                pass_fds=[far.fileno()],
                start_new_session=True,
                env=environment,
            )
        finally:
            far.close()
            os.close(terminal)
        self._wire: Wire[Times] = Wire(near, Times)
        self._shown = b""
        self._reader = threading.Thread(target=self._read_screen, daemon=True)
        self._reader.start()

    def __enter__(self) -> _Child:
        return self

    def __exit__(self, *_: object) -> None:
        self._wire.close()
        try:
            self._process.wait(3)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._reader.join(3)
        os.close(self._screen)

    def _read_screen(self) -> None:
        with suppress(OSError):  # EIO when the process has gone
            while data := os.read(self._screen, 65536):
                self._shown = data

    def make(self, burst: Burst) -> None:
        """Have a burst made. Raises PortFault when the process is lost."""
        self._wire.send(burst)
        asked_s = burst.count * (burst.on_ns + burst.gap_ns) / 1e9
        select.select([self._wire], (), (), START_S + SLOWER * asked_s)
        received = self._wire.receive_all()
        if not received.messages:
            last = self._shown.decode(errors="replace").strip().split("\n")[-1]
            raise PortFault(f"the process {self._module} did not make its pulses: {last}")
        for times in received.messages:
            self.redraws = times.redraws
            self.errors_us += [abs(ns - burst.on_ns) / 1e3 for ns in times.on_times_ns]


class _Latency:
    """cyclictest's wake-up latency, at the keeper's priority and the pulses' pace."""

    def __init__(self) -> None:
        self._program = shutil.which("cyclictest")
        self._values_us: list[float] = []
        self.notes: tuple[str, ...] = ()
        if self._program is None:
            self.notes = ("cyclictest is not installed (package rt-tests)",)

    def make(self, burst: Burst) -> None:
        """Let it measure for as long as the burst lasts."""
        if self._program is None:
            return
        interval_us = (burst.on_ns + burst.gap_ns) // 1000
        ran = subprocess.run(
            [
                *(self._program, "-q", "-m", "-t1", f"-p{PRIORITY}", f"-h{HISTOGRAM_US}"),
                *(f"-i{interval_us}", f"-l{burst.count}"),
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        values_us = histogram_of(ran.stdout)
        if ran.returncode or not values_us:
            said = (ran.stderr or ran.stdout).strip().split("\n")[0]
            self.notes = (f"cyclictest did not run ({said}); as root it would",)
            self._program = None
            return
        self._values_us += values_us

    def errors(self) -> Errors | None:
        """Give what was measured."""
        return errors_of(self._values_us) if self._values_us else None
