"""A serial port in the hands of one program, and asking a relay unit over it. Linux only.

USB serial needs no speed and no handshake, so the terminal calls of the standard library are
all there is to it. Nothing here waits longer than it was told to: the keeper's loop calls it. (That
is why pyserial does not serve: its write with a zero timeout goes round without end where the
port takes no more; read in its 3.5.)
"""

from __future__ import annotations

import fcntl
import os
import secrets
import select
import termios
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from time import monotonic_ns

from drivers import relay_words
from drivers.relay_words import Heard, Hearing, No, Told, Yes

BY_ID = Path("/dev/serial/by-id")


class Lost(Exception):
    """The unit does not answer, or its port is gone; the text is one clause, for a sentence."""


class Refusal(Exception):
    """The unit refused a command."""

    def __init__(self, no: No) -> None:
        super().__init__(f"{no.why} {no.detail}")
        self.no = no


class Held(Lost):
    """Another program holds the port."""


def candidates() -> list[str]:
    """List the serial ports that have a lasting name."""
    try:
        return sorted(str(each) for each in BY_ID.iterdir())
    except OSError:
        return []


class Port:
    """An open port. Raises ``Lost`` wherever it is gone."""

    def __init__(self, path: str) -> None:
        with _foreign():
            self._fd = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK | os.O_CLOEXEC)
        try:
            fcntl.flock(self._fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            _make_raw(self._fd)
        except BlockingIOError:
            os.close(self._fd)
            raise Held("it is held by another program") from None
        except termios.error:
            os.close(self._fd)
            raise Lost("it is not a serial port") from None

    def send(self, line: bytes) -> None:
        """Send a whole line; one that does not fit at once is as good as lost."""
        with _foreign():
            if os.write(self._fd, line) != len(line):
                raise Lost("it takes no more")

    def receive(self, wait_ns: int = 0) -> bytes:
        """Give what has come, after waiting for it at most so long."""
        with _foreign():
            if not select.select([self._fd], (), (), max(0, wait_ns) / 1e9)[0]:
                return b""
            data = os.read(self._fd, 4096)
        if not data:
            raise Lost("it was unplugged")
        return data

    def close(self) -> None:
        """Let go of the port."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1


class Talk:
    """One introduction to a unit, and what is asked after it.

    ``news`` collects what the unit told unasked since the introduction.
    """

    def __init__(self, path: str, *, answer_ns: int, tries: int) -> None:
        self._port = Port(path)
        self._answer_ns = answer_ns
        self._hearing = Hearing()
        self._seq = 0
        self.news: list[Told] = []
        self._answers: dict[int, Yes | No] = {}
        nonce = secrets.token_hex(4)
        try:
            hello = self._await(
                relay_words.ask(0, "hello", relay_words.VERSION, nonce), 0, tries, nonce=nonce
            )
        except BaseException:
            self._port.close()
            raise
        self.board_id, self.safe, limits = hello.words[2:5]
        self.limits_s = [relay_words.number(each) for each in limits.split(",")]
        self.news.clear()  # of a time before this introduction
        self._answers.clear()

    def ask(self, verb: str, *words: str | int, tries: int) -> Yes:
        """Ask and wait for the answer; a repetition is known as such by the unit.

        Raises Refusal and Lost.
        """
        seq = self.begin(verb, *words, send=False)
        return self._await(relay_words.ask(seq, verb, *words), seq, tries)

    def begin(self, verb: str, *words: str | int, send: bool = True) -> int:
        """Ask without waiting; ``answer`` gives the answer once it was heard."""
        if self._seq >= relay_words.MOST_SEQ:
            raise Lost("the numbers of this introduction are used up")
        self._seq += 1
        if send:
            self._port.send(relay_words.ask(self._seq, verb, *words))
        return self._seq

    def listen(self) -> None:
        """Take everything that has come, without waiting. Raises Lost."""
        while data := self._port.receive():
            self._take(self._hearing.feed(data))

    def answer(self, seq: int) -> Yes | None:
        """Give the answer to something begun, if it has been heard. Raises Refusal."""
        answer = self._answers.pop(seq, None)
        if isinstance(answer, No):
            raise Refusal(answer)
        return answer

    def close(self) -> None:
        """Let go of the port."""
        self._port.close()

    def _await(self, line: bytes, seq: int, tries: int, *, nonce: str | None = None) -> Yes:
        for _ in range(tries):
            self._port.send(line)
            until_ns = monotonic_ns() + self._answer_ns
            while True:
                answer = self.answer(seq)
                if answer is not None and (nonce is None or answer.words[1] == nonce):
                    return answer
                left_ns = until_ns - monotonic_ns()
                data = self._port.receive(left_ns)
                self._take(self._hearing.feed(data))
                if not data and left_ns <= 0:
                    break
        raise Lost("it does not answer")

    def _take(self, messages: Sequence[Heard]) -> None:
        for message in messages:
            if isinstance(message, Told):
                self.news.append(message)
            else:
                self._answers[message.seq] = message
        while len(self._answers) > 16:  # answers that nobody waits for any more
            del self._answers[next(iter(self._answers))]


@contextmanager
def _foreign() -> Iterator[None]:
    # what the system says, in our words
    try:
        yield
    except BlockingIOError:
        raise Lost("it takes no more") from None
    except FileNotFoundError:
        raise Lost("it is not there") from None
    except OSError as error:
        raise Lost(f"it is gone ({error.strerror})") from None


def _make_raw(fd: int) -> None:
    """Bytes as they are, at once, and no echo; what came before is thrown away."""
    attributes = termios.tcgetattr(fd)
    attributes[0] = attributes[1] = attributes[3] = 0
    attributes[2] |= termios.CREAD | termios.CLOCAL | termios.CS8
    attributes[6][termios.VMIN] = 1  # so that an empty read means that the port has gone
    attributes[6][termios.VTIME] = 0
    termios.tcsetattr(fd, termios.TCSANOW, attributes)
    termios.tcflush(fd, termios.TCIOFLUSH)
