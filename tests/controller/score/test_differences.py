"""Two prints beside each other: every difference, in stops and in words."""

from __future__ import annotations

import re

import pytest

from controller.score.change import with_burn, with_pass, with_settings
from controller.score.differences import (
    Difference,
    differences,
    given_differences,
    in_few_lines,
    not_as_wanted,
    spread_stops,
)
from controller.score.file import from_tables
from controller.score.model import Score
from controller.score.said import said_stops
from tests.controller.book.test_prints import HARBOUR


@pytest.fixture
def first() -> Score:
    return from_tables(HARBOUR, "test")


def by_what(found: list[Difference]) -> dict[str, Difference]:
    return {one.what: one for one in found}


def test_a_score_does_not_differ_from_itself(first: Score) -> None:
    """Nothing is told where nothing is."""
    assert differences(first, first) == []


def test_a_base_twice_as_long_is_a_stop_everywhere(first: Score) -> None:
    """The pass, and each region but the one that a fixed dodge holds back."""
    found = differences(first, with_settings(first, ["base_s=20"], "test"))
    told = by_what(found)
    assert told["soft"].stops == pytest.approx(1.0)
    assert told["Sky should get, filter 00"].stops == pytest.approx(1.0)
    assert told["door should get, filter 00"].stops == pytest.approx(1.585, abs=1e-3)
    assert "Sky should get, filter 00: +1 stop" in in_few_lines(found, ("Sky", "door"))


def test_every_kind_of_change_is_told(first: Score) -> None:
    """Filter, another pass, a burn, paper, set-up and trays, each in its own line."""
    second = with_pass(first, "soft:0:+0", "test")
    second = with_pass(second, "hard:5:-1/3", "test")
    second = with_burn(second, "Sky=+1@soft", "test")
    fields = ["paper.batch=A8", "setup.aperture=11", "process.time=3 min", "setup.lens=100 mm"]
    told = by_what(differences(first, with_settings(second, fields, "test")))
    assert told["soft, filter"].line == "soft, filter: 00 -> 0"
    assert told["hard"].first == ""
    assert told["burn Sky over soft"].stops == pytest.approx(-1 / 3, abs=1e-4)
    assert told["paper batch"].line == "paper batch: A7 -> A8"
    assert told["process time"].line == "process time: none -> 3 min"
    assert {"aperture", "lens", "soft, aperture"} <= set(told)


def test_both_ways_round_the_stops_are_of_opposite_sign(first: Score) -> None:
    """A comparison has a direction, and nothing but."""
    second = with_settings(first, ["base_s=13.7"], "test")
    there, back = differences(first, second), differences(second, first)
    assert [one.what for one in there] == [one.what for one in back]
    for one, other in zip(there, back, strict=True):
        assert one.stops is not None
        assert other.stops == pytest.approx(-one.stops)


def test_what_all_regions_have_is_told_as_everywhere() -> None:
    """One line instead of one for each region."""
    got = given_differences({"a": {"00": 8.0}, "b": {"00": 4.0}}, {"a": {"00": 16}, "b": {"00": 8}})
    told = ["everywhere got, filter 00: +1 stop"]
    assert in_few_lines(got, ("a", "b")) == told
    assert in_few_lines(got, ("a", "b", "c")) == ["everywhere but c got, filter 00: +1 stop"]
    assert in_few_lines(got, "abcde") == ["a, b got, filter 00: +1 stop"]


def test_only_what_the_scores_do_not_explain_is_told_of_what_was_got() -> None:
    """A pause that cost light is told, and the change that was wanted is not told again."""
    wanted = [Difference("a should get, filter 00", "8 s", "16 s", 1.0, "a")]
    as_wanted = [Difference("a got, filter 00", "8 s", "16 s", 1.0, "a")]
    less = [Difference("a got, filter 00", "8 s", "14 s", 0.807, "a")]
    assert not_as_wanted(wanted, as_wanted) == []
    assert not_as_wanted(wanted, less) == less


def test_the_spread_is_of_the_most_over_the_least() -> None:
    """One print has none, and neither has one that got nothing."""
    assert spread_stops([10.0, 20.0, 14.0]) == pytest.approx(1.0)
    assert spread_stops([10.0]) is None
    assert spread_stops([0.0, 10.0]) is None


def test_a_figure_that_arithmetic_left_is_told_as_a_printer_says_it(first: Score) -> None:
    """No tail of digits, the unit behind the value, parts of a stop as fractions."""
    before = ["setup.head_height_mm=304.79999999999995", "setup.magnification=3.6333333333333333"]
    after = ["setup.head_height_mm=412.345678", "setup.magnification=4.123456789"]
    longer = [f"base_s={first.base_s * 2 ** (1 / 3)}", "paper.width_mm=304.79999999999995"]
    one = with_settings(first, before, "test")
    lines = [d.line for d in differences(one, with_settings(one, after + longer, "test"))]
    assert "head height: 304.8 mm -> 412.3 mm" in lines
    assert "magnification: 3.63 -> 4.12" in lines
    assert any(line.startswith("soft: ") and line.endswith("(+1/3 stop)") for line in lines)
    assert any(line.startswith("paper size: 254 x 203.2 mm -> 304.8 x ") for line in lines)
    assert not [line for line in lines if re.search(r"\d\.\d{3}", line)]


def test_what_reads_the_same_is_no_difference(first: Score) -> None:
    """A hair of the column's scale that nobody set."""
    one = with_settings(first, ["setup.head_height_mm=304.8"], "test")
    other = with_settings(first, ["setup.head_height_mm=304.79999999999995"], "test")
    assert differences(one, other) == []


@pytest.mark.parametrize(
    ("stops", "told"),
    [(1.0, "+1"), (-1 / 3, "-1/3"), (0.0833, "+1/12"), (0.51684, "+0.52"), (1.4987, "+1 1/2")],
)
def test_stops_are_told_in_the_parts_that_one_prints_by(stops: float, told: str) -> None:
    """Else with two decimals."""
    assert said_stops(stops) == told
