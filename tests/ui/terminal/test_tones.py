"""Colours become tones of red, and tones what a terminal is told."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from ui.terminal.tones import (
    CUBE_FIRST,
    LEVELS,
    RAMP_TOP,
    SEEN_APART,
    Depth,
    apart,
    ramp,
    ramp_number,
    shade,
    tone_of,
)

channel = st.integers(0, 255)
colours = st.tuples(channel, channel, channel)
PURE = {CUBE_FIRST, 52, 88, 124, 160, 196}  # xterm's cube where green and blue are zero


@given(channel)
def test_reds_and_greys_keep_their_number(value: int) -> None:
    """A theme in reds is shown as it was made, and a grey by a red of the same number."""
    assert tone_of((value, 0, 0)) == value
    assert tone_of((value, value, value)) == value


@given(colours, channel)
def test_a_brighter_colour_is_never_a_darker_red(colour: tuple[int, int, int], more: int) -> None:
    """Hierarchy survives: raising any channel does not lower the tone."""
    for at in range(3):
        raised = list(colour)
        raised[at] = max(raised[at], more)
        assert tone_of((raised[0], raised[1], raised[2])) >= tone_of(colour)


@given(colours, colours)
def test_what_was_asked_to_be_told_apart_can_be_told_apart(
    ink: tuple[int, int, int], ground: tuple[int, int, int]
) -> None:
    """Red on white would be 255 on 255: clearly different colours become different reds."""
    over, under = apart(ink, ground)
    assert 0 <= over <= 255
    assert 0 <= under <= 255
    if max(abs(a - b) for a, b in zip(ink, ground, strict=True)) >= 96:
        assert abs(over - under) >= SEEN_APART
        for depth in Depth:
            told = shade(ink, ground, depth, 100)
            assert told.ink != told.ground


@given(colours, colours, st.sampled_from([0, *LEVELS]), st.booleans())
def test_only_reds_can_be_told(
    ink: tuple[int, int, int], ground: tuple[int, int, int], percent: int, bold: bool
) -> None:
    """In every depth the numbers are of reds, and at zero percent they are of black."""
    for depth, allowed in (
        (Depth.FULL, set(range(256))),
        (Depth.CUBE, PURE),
        (Depth.RAMP, set(range(16))),
        (Depth.TWO, {0, 1}),
    ):
        told = shade(ink, ground, depth, percent, bold=bold)
        assert {*told} <= allowed
        if depth is Depth.RAMP:
            assert told.ground < 8, "consoles draw no backgrounds of the upper eight"
        if percent == 0:
            assert {*told} == {CUBE_FIRST if depth is Depth.CUBE else 0}
        if depth is Depth.FULL:
            assert max(told) <= round(255 * percent / 100)


def test_the_ramp_has_sixteen_steps_and_bold_is_one_of_them() -> None:
    """From black to full red in equal steps; the upper eight are one step above the lower."""
    reds = ramp(100)
    assert [reds[ramp_number(step)] for step in range(RAMP_TOP + 1)] == list(range(0, 256, 17))
    assert all(reds[number + 8] - reds[number] == 17 for number in range(8))
    assert max(ramp(25)) == 64
    assert set(ramp(0)) == {0}
