"""The relay unit's lines at both ends: the firmware's (``core``) and the host's."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers import relay_words
from drivers.firmware import core
from drivers.relay_words import Heard, Hearing, No, Told, Yes

WORD = st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=12)
SEQ = st.integers(0, core.MOST_SEQ)
# every command that a unit may hear, and how it stands in the firmware's table
VERBS = sorted(core._WORDS.items())
ASKS = st.sampled_from(VERBS).flatmap(
    lambda verb: st.tuples(
        SEQ, st.just(verb[0]), st.lists(WORD, min_size=verb[1], max_size=verb[1])
    )
)
HEARD: st.SearchStrategy[Heard] = st.one_of(
    st.sampled_from(sorted(relay_words._ANSWERS.items())).flatmap(
        lambda verb: st.builds(Yes, SEQ, st.just(verb[0]), st.tuples(*[WORD] * verb[1]))
    ),
    st.builds(No, SEQ, WORD, WORD),
    st.sampled_from(sorted(relay_words._TOLD.items())).flatmap(
        lambda what: st.builds(Told, SEQ, st.just(what[0]), st.tuples(*[WORD] * what[1]))
    ),
)


def body(message: Heard) -> str:
    match message:
        case Yes(seq, verb, words):
            return " ".join(["yes", str(seq), verb, *words])
        case No(seq, why, detail):
            return f"no {seq} {why} {detail}"
        case Told(count, what, words):
            return " ".join(["tell", str(count), what, *words])


def short(line: bytes) -> bool:
    return len(line) <= core.MOST_BYTES


@given(ASKS)
def test_what_a_host_asks_the_unit_hears(ask: tuple[int, str, list[str]]) -> None:
    """A command that the host's end seals comes out of the firmware's end word for word."""
    seq, verb, words = ask
    line = relay_words.ask(seq, verb, *words)
    assert core.unseal(line[:-1]) == ["ask", str(seq), verb, *words]


@given(HEARD)
def test_what_a_unit_says_the_host_hears(message: Heard) -> None:
    """An answer or a notice that the firmware's end seals is understood by the host's end."""
    assert relay_words.heard(core.seal(body(message))[:-1]) == message


@given(HEARD, st.data())
def test_the_host_refuses_any_corrupted_byte(message: Heard, data: st.DataObject) -> None:
    """One byte changed to any other, ends of lines included: nothing is understood of the line."""
    line = core.seal(body(message))
    at = data.draw(st.integers(0, len(line) - 1))
    wrong = data.draw(st.integers(0, 255).filter(lambda byte: byte != line[at]))
    hearing = Hearing()
    assert hearing.feed(line[:at] + bytes([wrong]) + line[at + 1 :]) == []
    assert hearing.feed(b"\n") == []
    assert hearing.garbled >= 1


@given(ASKS, st.data())
def test_the_unit_refuses_any_corrupted_byte(
    ask: tuple[int, str, list[str]], data: st.DataObject
) -> None:
    """One byte of a command changed: the unit does nothing, and never says yes."""
    line = relay_words.ask(*ask[:2], *ask[2])
    at = data.draw(st.integers(0, len(line) - 1))
    wrong = data.draw(st.integers(0, 255).filter(lambda byte: byte != line[at]))
    unit = core.Unit("unit", [(0, None)], 0)
    unit.step(0)
    writes, lines, _ = unit.step(1, line[:at] + bytes([wrong]) + line[at + 1 :] + b"\n")
    assert writes == []
    assert not [line for line in lines if line.startswith(b"yes")]
    assert unit.mode == core.NEW


@given(st.lists(st.binary(max_size=300)), HEARD)
def test_the_host_finds_its_way_back(garbage: list[bytes], message: Heard) -> None:
    """After any bytes at all, in any pieces, the first whole line is understood again."""
    line = core.seal(body(message))
    hearing = Hearing()
    for piece in garbage:
        hearing.feed(piece)
    hearing.feed(b"\n")
    assert hearing.feed(line) == ([message] if short(line[:-1]) else [])


@given(st.lists(st.binary(max_size=300)))
def test_the_unit_finds_its_way_back(garbage: list[bytes]) -> None:
    """After any bytes at all a unit hears the next whole command."""
    unit = core.Unit("unit", [(0, None)], 0)
    unit.step(0)
    for at_us, piece in enumerate(garbage):
        unit.step(at_us, piece)
    _, lines, _ = unit.step(1000, b"\n" + relay_words.ask(0, "hello", 1, "again"))
    (yes,) = Hearing().feed(lines[-1])
    assert isinstance(yes, Yes)
    assert yes.words[:3] == ("1", "again", "unit")


@given(st.lists(HEARD, max_size=5), st.data())
def test_pieces_do_not_matter(messages: list[Heard], data: st.DataObject) -> None:
    """Lines that come in pieces, or several at once, are the same messages in the same order."""
    lines = [core.seal(body(message)) for message in messages]
    stream = b"".join(lines)
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=6)))
    hearing = Hearing()
    heard: list[Heard] = []
    for start, end in zip([0, *cuts], [*cuts, len(stream)], strict=True):
        heard += hearing.feed(stream[start:end])
    assert heard == [m for m, line in zip(messages, lines, strict=True) if short(line[:-1])]


@pytest.mark.parametrize("word", ["", "-1", "+1", "01", "1_0", " 1", "1.0", "٣", "9" * 17])
def test_numbers_are_written_in_one_way(word: str) -> None:
    """Neither end takes a number that is written in any other way than the plain one."""
    assert relay_words.number(word) is None
    assert core.number(word) == -1


def test_both_ends_tell_the_same_size() -> None:
    """The limits of a line and of its numbers are the same at both ends."""
    assert relay_words.MOST_BYTES == core.MOST_BYTES
    assert relay_words.MOST_SEQ == core.MOST_SEQ
    assert relay_words.VERSION == core.VERSION
    assert relay_words._ANSWERS.keys() == core._WORDS.keys()
