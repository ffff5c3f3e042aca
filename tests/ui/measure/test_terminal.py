"""The terminal's benchmark: what counts as a picture, its figures, and a short run of it all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from controller.ports import PortFault
from ui.measure.frame import Frame
from ui.measure.terminal import Start, Starts, TerminalReport, bench_is_drawn, measure_terminal
from ui.measure.watched import Watched


def test_a_picture_is_whole_when_every_cell_was_drawn() -> None:
    """One cell that was never written is a picture that is not there yet."""
    frame = Frame(4, 2)
    frame.feed(b"\x1b[?1049h\x1b[1;1H\x1b[38;2;9;0;0mabcd\x1b[2;1Hefg")
    assert not frame.whole
    frame.feed(b"\x1b[2;4H\x1b[0mh\x1b[1;1H")
    assert frame.whole
    assert [frame.row(0), frame.row(-1)] == ["abcd", "efgh"]
    frame.feed(b"\x1b[2J")
    assert not frame.whole


def test_a_sequence_that_comes_in_two_pieces_is_one() -> None:
    """What a read cuts through, a letter of two bytes too, is taken with the next."""
    frame = Frame(3, 1)
    for piece in (b"\x1b[1;", b"1H\xe2", b"\x94\x82\x1b]0;ti", b"tle\x07", b"xy\x1b"):
        frame.feed(piece)
    assert frame.row(0) == "│xy"


def test_letters_beyond_the_edge_are_not_drawn() -> None:
    """A line that is too long neither wraps nor makes the picture larger."""
    frame = Frame(3, 2)
    frame.feed(b"\x1b[2;2Habcdef\r\nxyzxyz")
    assert [frame.row(0), frame.row(1)] == ["   ", "xyz"]


@pytest.mark.parametrize("missing", [0, 3, 5])
def test_the_bench_is_drawn_with_doors_title_and_keys(missing: int) -> None:
    """Without any one of them it is not the first picture of the bench."""
    rows = [" 1 Bench  2 Strip", "-" * 30, "", "  the unit is starting", "", " space pedal"]
    for left_out in (None, missing):
        frame = Frame(30, 6)
        for number, words in enumerate(rows):
            shown = "" if number == left_out else words
            frame.feed(f"\x1b[{number + 1};1H{shown:<30}".encode())
        assert frame.whole
        assert bench_is_drawn(frame) is (left_out is None)


def test_starts_are_told_by_their_median() -> None:
    """One start that the machine has held up does not decide."""
    starts = Starts.of([Start(0.3, 0.2), Start(9.0, 0.3), Start(0.4, 0.25)])
    assert starts == Starts(0.4, 0.3, 9.0, 0.25, 3)


def test_a_report_can_be_printed_and_stored() -> None:
    """Medians, ratios, spread and idle cost are in the table, and in the JSON with the goals."""
    report = TerminalReport(
        empty=Starts(0.25, 0.2, 0.3, 0.2, 7),
        terminal=Starts(0.35, 0.3, 0.5, 0.3, 7),
        ratio=1.4,
        processor_ratio=1.5,
        pair_ratio=1.38,
        ratio_least=1.1,
        ratio_most=1.8,
        attached_s=1.5,
        idle_percent={"terminal": 0.3, "engine": 1.7},
        idle_s=10.0,
    )
    data = json.loads(json.dumps(report.to_json()))
    assert (data["ratio"], data["goal_ratio"], data["goal_idle_percent"]) == (1.4, 1.5, 2.0)
    table = report.table()
    for words in ("0.250 s", "0.350 s", "1.40", "1.38", "1.10", "1.80", "1.70 % of one core"):
        assert words in table


def test_nothing_to_measure_is_refused() -> None:
    """No pair, or no time in which to be idle, is a sentence."""
    with pytest.raises(PortFault, match="would be right"):
        measure_terminal(pairs=0)
    with pytest.raises(PortFault, match="would be right"):
        measure_terminal(idle_s=0)


@pytest.mark.real
def test_a_program_that_draws_nothing_is_told_of() -> None:
    """One that ends without a picture is a sentence with its last words, and no long wait."""
    with (
        Watched(["/bin/sh", "-c", "echo no such thing"], {}) as program,
        pytest.raises(PortFault, match="no such thing"),
    ):
        program.wait_for(lambda frame: frame.whole, 20)


@pytest.mark.long
@pytest.mark.real
def test_a_short_run_measures_starts_and_idling() -> None:
    """Both programs draw their pictures, the unit is found, and every process costs something."""
    told: list[str] = []
    report = measure_terminal(pairs=1, idle_s=0.5, progress=told.append)
    assert 0 < report.empty.processor_s <= report.empty.least_s * 2
    assert 0 < report.terminal.median_s < 30
    assert report.ratio_least <= report.pair_ratio <= report.ratio_most
    assert set(report.idle_percent) == {"terminal", "engine", "keeper"}
    assert all(0 < percent < 200 for percent in report.idle_percent.values())
    assert told == ["0 of 1 pairs measured"]
    assert not Path("run").exists()
