"""The unit as it is installed, under a live service manager: lit, killed, hung, and removed.

Runs as root in the machine of ``boot-installed`` only (GPIOLAB_INSTALLED=1). What lights the lamp
is the printer's own command, typed as the printer; the lines hold their level when nobody owns
them, as a Raspberry Pi's do, so that only somebody's act makes them dark.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(
    os.environ.get("GPIOLAB_INSTALLED") != "1", reason="needs the machine of boot-installed"
)

LAMP, CEILING, PEDAL = 17, 22, 27
RUN = Path("/run/dryside")
STATE = Path("/var/lib/dryside")
SYSTEM = Path("/etc/systemd/system")
PROGRAM = Path(sys.executable).with_name("dryside")
PRINTER = ("runuser", "-u", "printer", "--", str(PROGRAM))
RIG = f"""
name = "lab"
[lamp]
driver = "gpio"
address = {LAMP}
active = "high"
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
OURS = (
    SYSTEM / "dryside.service",
    SYSTEM / "dryside-screen.service",
    SYSTEM / "multi-user.target.wants/dryside.service",
    SYSTEM / "multi-user.target.wants/dryside-screen.service",
    Path("/etc/tmpfiles.d/dryside.conf"),
    Path("/etc/dryside"),
)
# The machine is emulated, and Python starts there in a second, or in ten beside other work.
START_S = 300.0
STOP_ACTION_S = 90.0


def do(*words: str) -> str:
    run = subprocess.run(words, capture_output=True, text=True, timeout=300)
    assert run.returncode == 0, f"{words}: {run.stdout}{run.stderr}"
    return run.stdout


def wait(so: Callable[[], bool], wait_s: float, otherwise: str) -> float:
    """Wait until it is so; tells how many seconds that took."""
    begun_s = time.monotonic()
    while not so():
        assert time.monotonic() < begun_s + wait_s, f"{otherwise}; {journal()}"
        time.sleep(0.005)
    return time.monotonic() - begun_s


def journal() -> str:
    words = ("journalctl", "-u", "dryside", "-n", "25", "--no-pager", "-o", "short-monotonic")
    return subprocess.run(words, capture_output=True, text=True, timeout=60).stdout


def shown(name: str, unit: str = "dryside") -> str:
    return do("systemctl", "show", unit, "-P", name).strip()


def running() -> bool:
    return (shown("ActiveState"), shown("SubState")) == ("active", "running")


def pid(whom: str) -> int:
    """Give the number of the engine or the keeper."""
    number = json.loads((RUN / f"{whom}.pid").read_text())["pid"]
    assert isinstance(number, int)
    return number


def another_than(engine: int) -> Callable[[], bool]:
    """Give what asks whether the unit runs with another engine than this."""
    return lambda: running() and pid("engine") != engine


class Lines:
    """The outside of the wires."""

    def __init__(self) -> None:
        sys.path.insert(0, os.environ["GPIOLAB_TOOLS"])
        from gpiolab import Lab  # type: ignore[import-not-found]

        self.lab = Lab()
        self.lab.drive(LAMP, 0)
        self.lab.drive(CEILING, 0)
        self.lab.drive(PEDAL, 1)

    def lit(self) -> bool:
        return bool(self.lab.value(LAMP))

    def tap(self) -> None:
        self.lab.drive(PEDAL, 0)
        time.sleep(0.1)
        self.lab.drive(PEDAL, 1)

    def dark_after_s(self, since_ns: int, wait_s: float) -> float:
        """Wait for the dark, and tell from the kernel's own log when it came."""
        wait(lambda: not self.lit(), wait_s, "the lamp never went off")
        edges = [ns for ns, _, level, _ in self.lab.log(LAMP) if level == 0 and ns > since_ns]
        return (edges[0] - since_ns) / 1e9


class Strip:
    """A strip that the printer has ordered by the usual command; what it says is kept."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self._process = subprocess.Popen(
            [*PRINTER, "strip", "--base", "30", "--patches", "3"],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            cwd="/",
        )
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self.said.append(line.strip())

    def prompts(self) -> int:
        """Count what asked for a tap so far."""
        return sum("(tap" in line for line in self.said)

    def end(self) -> None:
        self._process.kill()
        self._process.wait()


def light(lines: Lines) -> Strip:
    """Have the lamp lit by the printer's command and foot: one tap for each prompt."""
    strip = Strip()
    taps, end_s = 0, time.monotonic() + START_S
    while not lines.lit():
        assert time.monotonic() < end_s, f"the lamp was never lit; {strip.said}; {journal()}"
        if strip.prompts() > taps:
            taps += 1
            time.sleep(0.5)  # the deaf moment
            lines.tap()
        time.sleep(0.01)
    time.sleep(0.5)
    return strip


def install(*more: str) -> None:
    rig = Path("/root/rig.toml")
    rig.write_text(RIG)
    words = ("unit", "install", "--rig", str(rig), "--user", "printer", "--yes", *more)
    do(str(PROGRAM), *words)


@pytest.fixture(scope="module")
def lines() -> Lines:
    return Lines()


@pytest.fixture
def unit(lines: Lines) -> Iterator[Lines]:
    """An installed unit without a screen that runs, and is left so."""
    if not (SYSTEM / "dryside.service").exists():
        install("--headless")
    do("systemctl", "reset-failed")
    do("systemctl", "start", "dryside")
    wait(running, START_S, "the unit does not run")
    lines.lab.clear_log()
    yield lines
    wait(lambda: not lines.lit(), STOP_ACTION_S, "the lamp is left on")


@pytest.mark.parametrize("whom", ["engine", "keeper"])
@pytest.mark.parametrize("sent", [signal.SIGKILL, signal.SIGTERM, signal.SIGHUP])
def test_whoever_ends_the_lamp_goes_off_and_a_crash_is_mended(
    unit: Lines, whom: str, sent: signal.Signals
) -> None:
    """The line is dark by the unit's own hands; a unit that crashed runs again by itself."""
    strip = light(unit)
    engine, since_ns = pid("engine"), time.monotonic_ns()
    os.kill(pid(whom), sent)
    dark_s = unit.dark_after_s(since_ns, STOP_ACTION_S)
    print(f"{whom} {sent.name}: dark after {dark_s:.3f} s", end="")
    strip.end()
    if whom == "engine" and sent != signal.SIGKILL:
        # whoever ends it in order means it
        wait(lambda: shown("ActiveState") == "inactive", 60.0, "the unit did not end")
        assert shown("Result") == "success"
    elif whom == "engine":
        took_s = wait(another_than(engine), START_S, "no new engine")
        print(f", runs again after {took_s:.1f} s", end="")
    else:
        assert running()
        assert pid("engine") == engine
    print()
    assert dark_s < 1.0


def test_both_killed_at_once_the_stop_action_puts_the_lamp_off(unit: Lines) -> None:
    """Neither can act: a line that holds its level is dark once the service manager has acted."""
    strip = light(unit)
    engine, keeper = pid("engine"), pid("keeper")
    for each in (keeper, engine):  # frozen first, so that neither sees the other die
        os.kill(each, signal.SIGSTOP)
    assert unit.lit()
    since_ns = time.monotonic_ns()
    for each in (engine, keeper):
        os.kill(each, signal.SIGKILL)
    dark_s = unit.dark_after_s(since_ns, STOP_ACTION_S)
    strip.end()
    took_s = wait(another_than(engine), START_S, "no new engine")
    print(f"both killed: dark after {dark_s:.2f} s, runs again after {dark_s + took_s:.1f} s")
    assert "every output is in its safe state" in journal()


@pytest.mark.parametrize("frozen", [("engine",), ("engine", "keeper")])
def test_a_hang_is_ended_by_the_watchdog(unit: Lines, frozen: tuple[str, ...]) -> None:
    """A frozen engine costs the lamp its light at once; with its keeper, after the term."""
    strip = light(unit)
    engine, since_ns = pid("engine"), time.monotonic_ns()
    for whom in frozen:
        os.kill(pid(whom), signal.SIGSTOP)
    dark_s = unit.dark_after_s(since_ns, 25.0 + STOP_ACTION_S)
    strip.end()
    took_s = wait(another_than(engine), START_S, "no new engine")
    print(f"{frozen} frozen: dark after {dark_s:.2f} s, runs again after {dark_s + took_s:.1f} s")
    assert "watchdog" in journal().lower()
    assert dark_s < (1.0 if frozen == ("engine",) else 25.0 + STOP_ACTION_S)


def test_stop_and_restart_while_the_lamp_is_lit(unit: Lines) -> None:
    """systemctl stop and restart put the lamp off; the book has the sheet as interrupted."""
    for word in ("stop", "restart"):
        do("systemctl", "start", "dryside")
        wait(running, START_S, "the unit does not run")
        unit.lab.clear_log()
        strip = light(unit)
        since_ns = time.monotonic_ns()
        do("systemctl", word, "dryside")
        dark_s = unit.dark_after_s(since_ns, STOP_ACTION_S)
        print(f"systemctl {word}: dark after {dark_s:.3f} s")
        strip.end()
        assert shown("Result") == "success"
        assert dark_s < 2.0
    newest = do(*PRINTER, "book", "list").splitlines()[:2]
    assert ["interrupted" in line for line in newest] == [True, True]


def test_the_unit_is_real_time_and_nobodys_root(unit: Lines) -> None:
    """Under the unit's limits the keeper gets priority and locked memory, and has no rights."""
    strip = light(unit)
    status = Path(f"/proc/{pid('keeper')}/status").read_text()
    fields = dict(line.split(":\t", 1) for line in status.splitlines() if ":\t" in line)
    strip.end()
    assert "0" not in fields["Uid"].split()
    assert int(fields["CapEff"], 16) == 0
    assert int(fields["VmLck"].split()[0]) > 0
    assert os.sched_getscheduler(pid("keeper")) == os.SCHED_FIFO
    do("systemctl", "stop", "dryside")


def test_a_screen_comes_with_it_and_removal_leaves_nothing(lines: Lines) -> None:
    """The red terminal stands on the first console, and leaves an engine's restart to its service.

    `unit remove` then leaves only rig and book.
    """
    install()
    wait(running, START_S, "the unit does not run")
    for _ in range(2):
        wait(bench_is_shown, START_S, "the screen is empty, or waits for its unit")
        engine = pid("engine")
        assert "dryside.service" in Path(f"/proc/{engine}/cgroup").read_text()
        os.kill(engine, signal.SIGKILL)
        wait(another_than(engine), START_S, "no new engine")
    print(screen())
    engine = pid("engine")
    do(str(PROGRAM), "unit", "remove", "--yes")
    assert [str(path) for path in OURS if path.exists() or path.is_symlink()] == []
    assert not Path(f"/proc/{engine}").exists()
    assert shown("LoadState") == "not-found"
    assert (STATE / "rig.toml").exists()
    assert (STATE / "book.sqlite").exists()


def bench_is_shown() -> bool:
    return "Bench" in screen() and "the unit is starting" not in screen()


def screen() -> str:
    """Give what stands on the first console, of 80 columns."""
    text = Path("/dev/vcs1").read_text(encoding="latin-1")
    return "\n".join(text[at : at + 80].rstrip() for at in range(0, len(text), 80))
