"""When hands are free for light between the moves of the trays, and how that is told."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from controller.enlarger.lamp import ns
from controller.trays.free import Free, free_spans, light_words

NOW = ns(1000)
HANDS = ns(4)


def at(*seconds: float) -> list[int]:
    return [NOW + ns(each) for each in seconds]


def test_spans_lie_between_the_moves() -> None:
    """Hands are busy after each move; two moves that lie close together leave nothing between."""
    spans = free_spans(at(20, 60, 63, 120), NOW, HANDS)
    assert spans == (
        Free(NOW, *at(20)),
        Free(*at(24, 60)),
        Free(*at(67, 120)),
        Free(*at(124), None),
    )
    assert spans[1].lasts_s(NOW) == 36.0
    assert spans[1].lasts_s(NOW + ns(50)) == 10.0
    assert spans[3].lasts_s(NOW) is None


def test_it_is_proposed_in_words() -> None:
    """What fits now, what fits next, and from when anything does."""
    spans = free_spans(at(20, 60, 130), NOW, HANDS)
    assert light_words(spans, NOW) == "light: 20 s now, 36 s in 0:24, any in 2:14"
    assert light_words(spans, NOW + ns(18)) == "light: 36 s in 0:06, 66 s in 0:46, any in 1:56"
    assert light_words(spans, NOW + ns(30)) == "light: 30 s now, 66 s in 0:34, any in 1:44"
    assert light_words(spans, NOW + ns(140)) == ""
    assert light_words(free_spans([], NOW, HANDS), NOW) == ""
    assert light_words((), NOW) == ""


@given(
    st.lists(st.integers(0, 400), max_size=12),
    st.integers(1, 120),
)
def test_a_span_is_free_of_moves_and_none_is_missed(moves: list[int], light_s: int) -> None:
    """Light meets no move in a span that it fits into, and could not begin any sooner."""
    moves_ns = [NOW + ns(each) for each in moves]
    light_ns = ns(light_s)
    first = next(
        span.from_ns
        for span in free_spans(moves_ns, NOW, HANDS)
        if span.until_ns is None or span.until_ns - span.from_ns >= light_ns
    )

    def may_begin(at_ns: int) -> bool:
        ends_ns = at_ns + light_ns
        return not any(at_ns - HANDS < each < ends_ns and each >= NOW for each in moves_ns)

    assert may_begin(first)
    assert not any(may_begin(sooner) for sooner in range(NOW, first, ns(1)))
