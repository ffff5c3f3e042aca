"""A host to be killed: ``relay_host.py PORT STATE`` brings a unit into a state and lives on."""

import sys
import time
from time import monotonic_ns

from drivers import relay_words
from drivers.relay_port import Port
from drivers.relay_unit import RelayUnit
from tests.drivers.relay_bench import DEAD_MS, LINES

LONG_NS = 300_000_000_000


def tended(port: str, state: str) -> None:
    options = {"port": port, "dead_ms": DEAD_MS, "answer_ms": DEAD_MS // 4}
    board = RelayUnit.open(LINES, options)
    board.write("nominated", False)
    if state != "idle":
        board.write_for("lamp", True, LONG_NS)
        board.write("bench", True)
    if state == "paused":
        board.write("lamp", False)
    print("ready", flush=True)
    while True:
        assert board.alive(monotonic_ns()) == []
        time.sleep(0.02)


def setting_up(port: str) -> None:
    """In the middle of a setup: introduced, and half a line said."""
    tty = Port(port)
    tty.send(relay_words.ask(0, "hello", 1, "half"))
    tty.send(relay_words.ask(1, "setup", "001", DEAD_MS, 1000)[:11])
    print("ready", flush=True)
    time.sleep(60)


def half_said(port: str) -> None:
    """In the middle of a command, with a light on and another being lit."""
    tty = Port(port)
    tty.send(relay_words.ask(0, "hello", 1, "half"))
    tty.send(relay_words.ask(1, "setup", "001", DEAD_MS, 1_000_000))
    tty.send(relay_words.ask(2, "put", 0, 1, 300_000_000))
    said = b""
    while b"yes 2 " not in said:
        said += tty.receive(1_000_000_000)
    tty.send(relay_words.ask(3, "put", 1, 1, "-")[:9])
    print("ready", flush=True)
    time.sleep(60)


if __name__ == "__main__":
    _, port, state = sys.argv
    if state == "setting-up":
        setting_up(port)
    elif state == "half-said":
        half_said(port)
    else:
        tended(port, state)
