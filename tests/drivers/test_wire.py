"""Messages between processes."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator

import msgspec
import pytest

from drivers.wire import MOST_BYTES, BadMessage, MessageTooLong, Sent, Wire, pair


class Ping(msgspec.Struct, frozen=True, tag="ping"):
    number: int


class Text(msgspec.Struct, frozen=True, tag="text"):
    text: str


@pytest.fixture
def sockets() -> Iterator[tuple[socket.socket, socket.socket]]:
    near, far = pair()
    with near, far:
        yield near, far


@pytest.fixture
def wires(sockets: tuple[socket.socket, socket.socket]) -> tuple[Wire[Ping], Wire[Ping | Text]]:
    near, far = sockets
    return Wire(near, Ping), Wire(far, Ping | Text)


def test_messages_arrive_whole_and_in_order(wires: tuple[Wire[Ping], Wire[Ping | Text]]) -> None:
    """What was sent is received, each message by itself, and reading never waits."""
    near, far = wires
    assert far.receive_all().messages == []
    sent = [Ping(1), Text("x" * 100_000), Ping(2)]
    assert [near.send(message) for message in sent] == [Sent.SENT] * 3
    assert far.receive_all().messages == sent


def test_a_bad_message_is_reported_and_the_next_one_arrives(
    sockets: tuple[socket.socket, socket.socket],
) -> None:
    """Nonsense, a wrong type and a message that is too long each spoil only themselves."""
    raw, far = sockets
    wire: Wire[Ping] = Wire(far, Ping)
    for data in (b"pear", b'{"type": "ping", "number": "1"}', b"\xff", b"1" * (MOST_BYTES + 1)):
        raw.send(data)
        raw.send(b'{"type": "ping", "number": 7}')
        received = wire.receive_all()
        assert received.messages == [Ping(7)]
        (bad,) = received.bad
        assert isinstance(bad, BadMessage)
        assert not received.closed


def test_a_full_socket_never_blocks(wires: tuple[Wire[Ping], Wire[Ping | Text]]) -> None:
    """A reader that does not read is told of, and what was sent before is not lost."""
    near, far = wires
    count = 0
    while near.send(Ping(count)) is Sent.SENT:
        count += 1
    assert near.send(Ping(-1)) is Sent.FULL
    assert far.receive_all(most=100_000).messages == [Ping(n) for n in range(count)]
    assert near.send(Ping(0)) is Sent.SENT


def test_what_was_said_before_the_end_is_heard(
    wires: tuple[Wire[Ping], Wire[Ping | Text]],
) -> None:
    """The last words of an end that closed arrive, even if it had not read what it was told."""
    near, far = wires
    far.send(Ping(0))  # never read: the kernel then reports a reset ahead of the last words
    near.send(Ping(1))
    near.send(Ping(2))
    near.close()
    received = far.receive_all()
    assert received.messages == [Ping(1), Ping(2)]
    assert received.closed
    assert far.receive_all().closed
    assert far.send(Ping(3)) is Sent.GONE
    assert near.send(Ping(3)) is Sent.GONE


def test_a_message_that_is_too_long_is_the_senders_fault(
    wires: tuple[Wire[Ping], Wire[Ping | Text]],
) -> None:
    """It is refused with its size, and nothing is sent."""
    near, far = wires
    with pytest.raises(MessageTooLong, match=str(MOST_BYTES)):
        near.send(Text("x" * MOST_BYTES))
    assert far.receive_all().messages == []


def test_only_sockets_that_keep_messages_apart() -> None:
    """A stream socket is refused."""
    near, far = socket.socketpair()
    with near, far, pytest.raises(ValueError, match="SEQPACKET"):
        Wire(near, Ping)


def test_no_child_inherits_an_end(sockets: tuple[socket.socket, socket.socket]) -> None:
    """An end that a child kept would hide the engine's death from the keeper."""
    assert [os.get_inheritable(sock.fileno()) for sock in sockets] == [False, False]
