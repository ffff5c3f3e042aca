"""The line to the terminal: one that may go away, and that tells what has arrived.

With ``red`` the only module that touches what Textual keeps to itself.
"""

from __future__ import annotations

import asyncio
import os
import sys
import termios
import time
from collections.abc import Callable
from contextlib import suppress
from queue import Full
from typing import IO, TYPE_CHECKING, Any, cast

from textual.drivers.linux_driver import LinuxDriver
from textual.messages import TerminalSupportsSynchronizedOutput

if TYPE_CHECKING:
    from textual.app import App
    from textual.message import Message

QUERY = "\x1b[?2026$p"  # "do you know synchronised output?": who answered once answers again


def line_number() -> int:
    """Give the file that Textual writes to."""
    return cast(IO[str], sys.__stderr__).fileno()


class Fence(str):
    """Something to write of which its writer wants to know when it has left."""

    __slots__ = ("passed",)
    passed: Callable[[bool], None]


class Line:
    """The line to the terminal. One that is gone takes what is written and says nothing.

    Textual's writer is a thread that ends with the first error; the program would then wait for
    it for ever, where it is to end.
    """

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self.gone = False

    def write(self, text: str) -> int:
        """Write at once; of a fence also wait until the line has drained."""
        data = text.encode("utf-8", "replace")
        try:
            while data and not self.gone:
                try:
                    data = data[os.write(self._fd, data) :]
                except BlockingIOError:  # a parent may have left the line so
                    time.sleep(0.001)
            if isinstance(text, Fence):
                with suppress(termios.error):  # what is no terminal has nothing to drain
                    termios.tcdrain(self._fd)
        except OSError:
            self.gone = True
        if isinstance(text, Fence):
            text.passed(not self.gone)
        return len(text)

    def flush(self) -> None:
        """Nothing is held back."""

    def fileno(self) -> int:
        """Give the file number."""
        return self._fd

    def isatty(self) -> bool:
        """Is it a terminal?"""
        return os.isatty(self._fd)


class RedDriver(LinuxDriver):
    """Textual's own, over a line that may go away, and with a way to know what has arrived."""

    def __init__(self, app: App[Any], **options: Any) -> None:
        super().__init__(app, **options)
        self._file = cast(Any, Line(line_number()))
        self._asked = self._answered = 0
        self._awaited: Callable[[], None] | None = None

    def _request_terminal_sync_mode_support(self) -> None:
        self._asked += self.input_tty
        super()._request_terminal_sync_mode_support()

    def process_message(self, message: Message) -> None:
        """Hear the terminal's answers here: a message would wait for the app to be idle."""
        if isinstance(message, TerminalSupportsSynchronizedOutput):
            self._answered = min(self._asked, self._answered + 1)
            if self._awaited is not None and self._answered == self._asked:
                self._awaited()
        super().process_message(message)

    def run_input_thread(self) -> None:
        """Read keys; a terminal that is gone is a reason to leave, and no fault."""
        try:
            super().run_input_thread()
        except OSError:
            with suppress(RuntimeError):  # the loop may have ended meanwhile
                self._loop.call_soon_threadsafe(self._app.exit)

    async def deliver(self, told: str, *, deadline_s: float) -> bool:
        """Write ``told``; say whether it has arrived before ``deadline_s`` seconds have passed.

        Arrived: written, the line drained, and, from a terminal that has answered before, an
        answer to a question that was written behind it. The event loop is never held up.
        """
        writer = self._writer_thread
        if writer is None:
            return False
        loop = asyncio.get_running_loop()
        last = loop.time() + deadline_s
        left, heard = loop.create_future(), loop.create_future()

        def settle(future: asyncio.Future[bool], well: bool) -> None:
            if not future.done():
                future.set_result(well)

        def later(future: asyncio.Future[bool], well: bool) -> None:
            with suppress(RuntimeError):  # the loop may have ended meanwhile
                loop.call_soon_threadsafe(settle, future, well)

        answers = self._answered > 0
        if answers:
            self._asked += 1
            self._awaited = lambda: later(heard, True)
        else:
            heard.set_result(True)
        fence = Fence(told + QUERY if answers else told)
        fence.passed = lambda well: later(left, well)
        while True:
            try:
                writer._queue.put_nowait(fence)
                break
            except Full:
                if loop.time() >= last:
                    self._answered = self._asked
                    return False
                await asyncio.sleep(0.002)
        try:
            async with asyncio.timeout_at(last):
                arrived: bool = await left and await heard
                return arrived
        except TimeoutError:
            self._answered = self._asked  # an answer that got lost is not waited for again
            return False
        finally:
            self._awaited = None
