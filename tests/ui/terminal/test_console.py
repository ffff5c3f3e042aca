"""What a terminal is told about its palette."""

from __future__ import annotations

import os

import pytest

from tests.ui.terminal.sgr import VGA, XTERM, Palette, offences, tokens
from ui.terminal.console import Kind, RedPalette, depth_of, erase, kind_of, load, red_sgr, restore
from ui.terminal.tones import Depth, ramp


@pytest.mark.parametrize(
    ("term", "kind"),
    [
        ("linux", Kind.LINUX),
        ("linux-16color", Kind.LINUX),
        ("xterm-256color", Kind.OSC),
        ("tmux-256color", Kind.OSC),
        ("st-256color", Kind.OSC),
        ("foot", Kind.OSC),
        ("vt220", Kind.PLAIN),
        ("dumb", Kind.PLAIN),
        ("screen", Kind.PLAIN),
        ("", Kind.PLAIN),
    ],
)
def test_only_known_terminals_are_told_about_colours(term: str, kind: Kind) -> None:
    """TERM decides; an unknown one is told nothing."""
    assert kind_of({"TERM": term} if term else {}) is kind
    assert (load(kind, 100) == b"") is (kind is Kind.PLAIN)


@pytest.mark.parametrize(("term", "usual"), [("linux", VGA), ("xterm", XTERM)])
def test_all_sixteen_become_reds_and_come_back(term: str, usual: list[object]) -> None:
    """Loaded, green and blue are zero everywhere and the reds are the ramp; restored, as before."""
    kind, palette = kind_of({"TERM": term}), Palette(term)
    for token in tokens(load(kind, 70), term):
        palette.told(token)
    assert palette.sixteen == [(red, 0, 0) for red in ramp(70)]
    for token in tokens(restore(kind), term):
        palette.told(token)
    assert palette.sixteen == usual


def test_every_own_colour_that_is_set_is_reset() -> None:
    """OSC 10, 11, 12, 17 and 19 have their 110, 111, 112, 117 and 119."""
    told = {
        int(token["osc"].split(";")[0]) for token in tokens(load(Kind.OSC, 100), "") if token["osc"]
    }
    undone = {int(token["osc"]) for token in tokens(restore(Kind.OSC), "") if token["osc"]}
    assert undone == {number + 100 for number in told}


def test_the_console_is_told_numbers_whatever_the_environment_says_of_24_bits() -> None:
    """The kernel would put 24-bit reds below 86 to black."""
    assert depth_of(Kind.LINUX, "truecolor") is Depth.RAMP
    assert depth_of(Kind.OSC, "256") is Depth.CUBE
    assert depth_of(Kind.OSC, "standard") is Depth.TWO
    assert depth_of(Kind.PLAIN, None) is Depth.FULL


@pytest.mark.parametrize("term", ["linux", "xterm-256color", "vt220", "screen"])
@pytest.mark.parametrize("depth", list(Depth))
def test_the_stroke_and_the_last_words_are_red_or_black_without_a_palette(
    term: str, depth: Depth
) -> None:
    """Neither needs a palette; on the console only numbers are told."""
    if (term == "linux") is not (depth is Depth.RAMP):
        return
    words = red_sgr(depth) + "sorry"
    stroke = f"\x1b[?1049h{erase(depth, term, 20, 3)}"
    assert [o for o in offences(words.encode(), term) if "ground is" in o or "ink is" in o] == []
    assert [o for o in offences(stroke.encode(), term) if "erased" in o or "is (" in o] == []


def test_what_is_no_terminal_gets_no_sequences() -> None:
    """Into a pipe or a file nothing is written."""
    out, into = os.pipe()
    with RedPalette(into, Kind.OSC, Depth.FULL, 100):
        pass
    os.close(into)
    assert os.read(out, 100) == b""
    os.close(out)
