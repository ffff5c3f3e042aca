"""The line to the terminal, and how one knows that something has arrived."""

from __future__ import annotations

import asyncio
import os
import pty
import time
from queue import Queue
from types import SimpleNamespace
from typing import Any

import pytest
from textual.drivers.linux_driver import LinuxDriver
from textual.messages import TerminalSupportsSynchronizedOutput

from ui.terminal.line import QUERY, Fence, Line, RedDriver


def driver_on(queue: Queue[Any], *, answered: int = 0) -> RedDriver:
    made = RedDriver.__new__(RedDriver)  # the rest of it wants a terminal on standard input
    made._writer_thread = SimpleNamespace(_queue=queue)  # type: ignore[assignment]
    made._asked = made._answered = answered
    made._awaited = None
    return made


def test_a_fence_is_passed_when_the_line_has_taken_it() -> None:
    """What was written is at the other end when the fence says so."""
    master, slave = pty.openpty()
    passed: list[bool] = []
    fence = Fence("black")
    fence.passed = passed.append
    Line(slave).write(fence)
    assert passed == [True]
    assert os.read(master, 100) == b"black"
    os.close(master)
    os.close(slave)


def test_a_line_that_is_gone_swallows_and_says_no() -> None:
    """No error, ever, and no fence is passed."""
    master, slave = pty.openpty()
    os.close(master)
    line, passed = Line(slave), []  # type: ignore[var-annotated]
    line.write("words")
    fence = Fence("black")
    fence.passed = passed.append
    line.write(fence)
    assert line.gone
    assert passed == [False]
    os.close(slave)


def test_a_writer_that_is_full_is_waited_for_only_until_the_deadline() -> None:
    """The loop goes on meanwhile, and the answer is no."""
    queue: Queue[Any] = Queue(1)
    queue.put("stuck")
    turns = 0

    async def run() -> bool:
        nonlocal turns

        async def turn() -> None:
            nonlocal turns
            while True:
                turns += 1
                await asyncio.sleep(0.005)

        beside = asyncio.create_task(turn())
        arrived = await driver_on(queue).deliver("black", deadline_s=0.05)
        beside.cancel()
        return arrived

    began = time.monotonic()
    assert not asyncio.run(run())
    assert time.monotonic() - began >= 0.05
    assert turns > 1


def test_a_terminal_that_answers_is_asked_behind_what_was_written(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Written and drained is not enough then; the answer is, and is counted once."""
    monkeypatch.setattr(LinuxDriver, "process_message", lambda self, message: None)
    queue: Queue[Any] = Queue()
    driver = driver_on(queue, answered=1)

    async def run(*, answers: bool) -> bool:
        waiting = asyncio.create_task(driver.deliver("black", deadline_s=0.05))
        await asyncio.sleep(0)
        fence = queue.get_nowait()
        assert fence == f"black{QUERY}"
        fence.passed(True)
        if answers:
            driver.process_message(TerminalSupportsSynchronizedOutput())
        return await waiting

    assert asyncio.run(run(answers=True))
    assert not asyncio.run(run(answers=False))
    assert asyncio.run(run(answers=True)), "a lost answer is not waited for again"
