"""Messages between processes: msgspec structs as JSON over a Unix SOCK_SEQPACKET socket.

The kernel keeps the borders of messages, so a bad one spoils nothing but itself: it is reported
(``Received.bad``) and the connection lives on. Whether that is enough is for the caller to say;
who doubts a peer closes the wire.

Nothing here ever blocks. A socket that is full is answered with ``Sent.FULL``, and the message
has then not been sent.
"""

from __future__ import annotations

import socket
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, Generic, TypeVar

import msgspec

MOST_BYTES = 200_000  # of one message: below the socket buffer that Linux gives by default

T = TypeVar("T")


class WireFault(Exception):
    """Something is wrong with a message. The text is one sentence."""


class BadMessage(WireFault):
    """A message that was received is not one of those expected here."""


class MessageTooLong(WireFault):
    """A message that was to be sent exceeds ``MOST_BYTES``: the sender's own mistake."""


class Sent(Enum):
    """What became of a message that was to be sent."""

    SENT = "sent"
    FULL = "full"  # the other end does not read; the message was dropped
    GONE = "gone"  # there is no other end any more


@dataclass(slots=True)
class Received(Generic[T]):
    """Everything that was waiting, in order. ``closed``: nothing will ever come again."""

    messages: list[T] = field(default_factory=list)
    bad: list[BadMessage] = field(default_factory=list)
    closed: bool = False


def encode(message: msgspec.Struct) -> bytes:
    """Write one message as JSON."""
    return msgspec.json.encode(message)


class Wire(Generic[T]):
    """One end of a connection; ``receives`` is the (union) type of what comes in.

    Annotate the variable to tell a type checker what comes in:
    ``wire: Wire[Reply] = Wire(sock, Reply)``.
    """

    def __init__(self, sock: socket.socket, receives: Any) -> None:
        if sock.type != socket.SOCK_SEQPACKET:
            raise ValueError("a wire needs a SOCK_SEQPACKET socket, which keeps messages apart")
        sock.setblocking(False)
        self._sock = sock
        self._decoder = msgspec.json.Decoder(receives)
        # kept and reused: a fresh buffer of this size would be mapped and unmapped at every call
        self._buffer = bytearray(MOST_BYTES)
        self._closed = False

    def fileno(self) -> int:
        """Give the descriptor for a selector; -1 when this end is closed."""
        return self._sock.fileno()

    def send(self, message: msgspec.Struct) -> Sent:
        """Send without waiting. Raises MessageTooLong."""
        data = encode(message)
        if len(data) > MOST_BYTES:
            raise MessageTooLong(
                f"a message of {len(data)} bytes ({type(message).__name__}) is longer than the "
                f"{MOST_BYTES} that may be sent at once"
            )
        if self._closed:
            return Sent.GONE
        try:
            self._sock.send(data, socket.MSG_NOSIGNAL)
        except BlockingIOError:
            return Sent.FULL
        except OSError:
            return Sent.GONE
        return Sent.SENT

    def receive_all(self, most: int = 1000) -> Received[T]:
        """Take everything that is waiting (at most ``most`` messages) without waiting for more."""
        received: Received[T] = Received(closed=self._closed)
        if self._closed:
            return received
        reset = False
        for _ in range(most):
            try:
                size, _, flags, _ = self._sock.recvmsg_into([self._buffer])
            except BlockingIOError:
                received.closed = reset
                break
            except ConnectionResetError:
                # the other end died with something of ours unread; this is told once, ahead of
                # what it had sent before, which must not be lost: read on
                if reset:
                    received.closed = True
                    break
                reset = True
                continue
            except OSError:
                received.closed = True
                break
            if size == 0:  # nobody sends empty messages: this is the end
                received.closed = True
                break
            if flags & socket.MSG_TRUNC:
                received.bad.append(BadMessage(f"a message exceeds {MOST_BYTES} bytes"))
                continue
            try:
                received.messages.append(self._decoder.decode(memoryview(self._buffer)[:size]))
            except msgspec.DecodeError as error:
                shown = bytes(self._buffer[: min(size, 60)]).decode("utf-8", "replace")
                received.bad.append(BadMessage(f"a message is not understood: {error}: {shown}"))
        self._closed = received.closed
        return received

    def close(self) -> None:
        """Close this end; the other sees that nothing will come."""
        self._closed = True
        self._sock.close()


def pair() -> tuple[socket.socket, socket.socket]:
    """Make two sockets that are joined. Neither is inherited by a child unless passed to it."""
    return socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
