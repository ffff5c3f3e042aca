"""The modem lines of a real kernel's 16550: what opening, closing and dying do to DTR and RTS.

Runs only in the kernel lab (GPIOLAB=1). The wires of its ports lead nowhere: the outputs are seen
in the driver's own table, and inputs through the chip's loop-back, which tells no changes.
"""

from __future__ import annotations

import os
import queue
import re
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from controller.ports import Line
from drivers.modem_lines import ModemOutputs, ModemPedal
from drivers.modem_port import RTS, open_port

pytestmark = pytest.mark.skipif(os.environ.get("GPIOLAB") != "1", reason="needs the kernel lab")

NUMBER = 1
PORT = f"/dev/ttyS{NUMBER}"
OPTIONS: dict[str, object] = {"port": PORT}
LAMP = [Line("lamp", "dtr-rts")]
LOOP = 0x8000  # TIOCM_LOOP (read in the kernel's termios.h)
WAIT_S = 20.0

OWNER = """
import sys, time
from controller.ports import Line
from drivers.modem_lines import ModemOutputs
board = ModemOutputs.open([Line("lamp", "dtr-rts")], {"port": sys.argv[1]})
board.write("lamp", True)
print("lit", flush=True)
time.sleep(600)
"""
LISTENER = """
import sys, time
from drivers.modem_lines import ModemPedal
pedal = ModemPedal.open(
    "cts", normally_closed=False, on_edge=lambda *_: None, options={"port": sys.argv[1]}
)
print("listens", flush=True)
time.sleep(600)
"""


def raised() -> set[str]:
    """Tell which outputs are raised, as the driver's own table says, without opening the port."""
    table = Path("/proc/tty/driver/serial").read_text()
    (line,) = re.findall(rf"^{NUMBER}: .*$", table, re.MULTILINE)
    return {"DTR", "RTS"} & set(re.split(r"[ |]", line))


def until(lines: set[str]) -> None:
    end_s = time.monotonic() + WAIT_S
    while raised() != lines:
        assert time.monotonic() < end_s, raised()
        time.sleep(0.01)


def run(code: str, said: str) -> subprocess.Popen[str]:
    child = subprocess.Popen([sys.executable, "-c", code, PORT], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline().strip() == said
    return child


@pytest.fixture(autouse=True)
def idle() -> Iterator[None]:
    assert raised() == set()
    yield
    until(set())


def test_an_ordinary_opening_raises_both() -> None:
    """What any program does to the wires of a new port: both are raised as long as it is open."""
    fd = os.open(PORT, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    settings = termios.tcgetattr(fd)
    speed = settings[4]
    was = raised()
    os.close(fd)
    print(f"speed {speed}: {was}")
    assert was == (set() if speed == termios.B0 else {"DTR", "RTS"})


def test_outputs_from_opening_to_closing() -> None:
    """Only DTR, and only while it is lit; closing drops what was raised."""
    board = ModemOutputs.open(LAMP, OPTIONS)
    assert raised() == set()
    board.write("lamp", True)
    assert raised() == {"DTR"}
    board.write("lamp", False)
    assert raised() == set()
    board.write("lamp", True)
    board.close()
    until(set())


def test_whoever_listens_beside_moves_nothing() -> None:
    """A process that opens the port for a pedal, and goes again, leaves a lit lamp lit."""
    board = ModemOutputs.open(LAMP, OPTIONS)
    board.write("lamp", True)
    with run(LISTENER, "listens") as child:
        assert raised() == {"DTR"}
        child.kill()
    assert raised() == {"DTR"}
    assert board.alive(time.monotonic_ns()) == ()
    board.close()


def test_a_killed_owner_leaves_no_line_raised() -> None:
    """With nobody else at the port the kernel drops its lines itself."""
    with run(OWNER, "lit") as child:
        assert raised() == {"DTR"}
        child.kill()
    until(set())


def test_a_rescuer_drops_the_lines_of_a_dead_or_frozen_owner() -> None:
    """While somebody else has the port open the kernel drops nothing; the rescuer does."""
    rescuer = ModemOutputs.rescuer(LAMP, OPTIONS)
    with run(OWNER, "lit") as child:
        child.send_signal(signal.SIGSTOP)
        time.sleep(0.2)
        assert raised() == {"DTR"}
        assert not rescuer.make_safe(0)  # still held, and dark all the same
        assert raised() == set()
        child.kill()
    assert rescuer.make_safe(time.monotonic_ns() + 10**9)
    rescuer.release()


RIG = f"""
name = "lab"
[lamp]
driver = "modem-lines"
address = "dtr-rts"
[[pedal]]
driver = "modem-lines"
address = "cts"
contact = "normally-closed"   # the lab's other port keeps it raised
[sounder]
driver = "silent"
speech = false
[foot]
deaf_s = 0.2
lead_in_s = 0.3
[board.modem-lines]
port = "{PORT}"
"""


def test_a_whole_unit_and_every_way_to_die(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keeper and pedal share the port; the keeper killed, or all at once: dark, and at rest."""
    import json

    from controller.exposing.told import Press
    from controller.rig.file import load_rig
    from drivers.all_safe import safe_now
    from drivers.places import board_options, run_folder
    from tests.lab.test_unit import prompt, start
    from ui.attach import attach

    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "home"))
    path = tmp_path / "rig.toml"
    path.write_text(RIG)
    rig = load_rig(path)
    client = attach(run_folder(), str(path), (), rig.digest())

    def tap() -> None:
        client.send(Press(True))
        client.send(Press(False))

    def pid(whom: str) -> int:
        return int(json.loads((run_folder() / f"{whom}.pid").read_text())["pid"])

    try:
        start(client, 0.5, 60.0)
        prompt(client, "mark")
        tap()
        prompt(client, "patch A")
        tap()
        until({"DTR"})
        until(set())
        prompt(client, "patch B")
        tap()
        until({"DTR"})
        os.kill(pid("keeper"), signal.SIGKILL)
        sent_s = time.monotonic()
        until(set())
        print(f"keeper killed: dark after {(time.monotonic() - sent_s) * 1000:.0f} ms")
        prompt(client, "paused")
        tap()
        until({"DTR"})
        both = [pid("engine"), pid("keeper")]
        sent_s = time.monotonic()
        for each in both:
            os.kill(each, signal.SIGKILL)
        until(set())
        print(f"all killed: dark after {(time.monotonic() - sent_s) * 1000:.0f} ms")
    finally:
        client.close()
        safe = safe_now(
            rig.lines(), "modem-lines", board_options(rig, run_folder()), run=run_folder()
        )
        assert safe.safe


def test_a_contact_through_the_loop_back() -> None:
    """CTS follows RTS within the chip: pressed and let go are told."""
    # last, since a thread that waits for a change keeps the port open until this process ends
    told: queue.Queue[bool] = queue.Queue()
    pedal = ModemPedal.open(
        "cts",
        normally_closed=False,
        on_edge=lambda _at_ns, down: told.put(down),
        options=OPTIONS,
    )
    assert (
        told.get(timeout=WAIT_S) is True
    )  # the lab's ports are joined, and the other one is ready
    port = open_port(PORT)
    port.put(lift=LOOP)
    assert told.get(timeout=WAIT_S) is False
    for down in (True, False, True):
        began_s = time.monotonic()
        port.put(**({"lift": RTS} if down else {"drop": RTS}))
        assert told.get(timeout=WAIT_S) is down
        print(f"heard after {(time.monotonic() - began_s) * 1000:.1f} ms")
    port.put(drop=RTS | LOOP)
    port.close()
    pedal.close()
