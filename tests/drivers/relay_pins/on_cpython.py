"""Drives the firmware's core under CPython, on standard input and output, as ``main.py`` does."""

import os
import select
from time import monotonic_ns

import board
from core import Unit


def write(log: int, writes: list[tuple[int, int]]) -> None:
    for index, level in writes:
        os.write(log, b"%d %d %d\n" % (monotonic_ns() // 1000, board.OUTPUTS[index][0], level))


def main() -> None:
    log = os.open(os.environ["RELAY_PINS"], os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    outputs = [(safe, longest_s) for _, safe, longest_s in board.OUTPUTS]
    write(log, [(index, safe) for index, (safe, _) in enumerate(outputs)])
    unit = Unit(board.BOARD_ID, outputs, monotonic_ns() // 1000)
    received = b""
    while True:
        writes, lines, next_us = unit.step(monotonic_ns() // 1000, received)
        write(log, writes)
        for line in lines:
            os.write(1, line)
        wait_s = 0.02
        if next_us is not None:
            wait_s = max(0.0, min(wait_s, (next_us - monotonic_ns() // 1000) / 1e6))
        received = os.read(0, 64) if select.select([0], (), (), wait_s)[0] else b""


main()
