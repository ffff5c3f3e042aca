"""What the Bench says of the paper that is out."""

from __future__ import annotations

from controller.exposing.bench import PaperView, SheetShown
from ui.terminal.widgets.fog_bars import CELLS, bar, lines

S = 1_000_000_000
K1 = SheetShown("K1", "at the easel", 0.4, 0.01, "40 % of the safe time")
K2 = SheetShown("K2", "at the trays", 0.7, 0.0, "70 % of the safe time")
NEW = SheetShown(
    "K3", "at the trays", 0.0, 0.0, "0 % of the safe time, and 9 s under unknown light"
)


def test_it_counts_itself_from_what_was_told() -> None:
    """Ten seconds on, at a hundredth each second, 40 percent are 50."""
    told = lines(PaperView(0, (K1,)), 10 * S)
    assert told == [f"K1 {bar(0.5)} 50%, at the easel"]


def test_what_light_reaches_now_stands_first_and_the_rest_behind_it() -> None:
    """One line, whatever lies about: the screen has better things to show."""
    told = lines(PaperView(0, (K2, K1)), 0)
    assert told == [f"K1 {bar(0.4)} 40%, at the easel   K2 70%"]


def test_in_a_room_that_nobody_proved_it_says_so_and_counts_nothing() -> None:
    """No figure is made up."""
    told = lines(PaperView(0, (NEW,), None, ("ceiling",)), 0)
    assert told == ["K3 out, under light never tested"]


def test_an_open_box_and_untested_lights_have_a_line_of_their_own() -> None:
    """What it forbids is said with it."""
    assert lines(PaperView(0, (K1,), True, ("door",)), 0)[1] == "the paper box is open: no light"
    assert lines(PaperView(0, (K1,), None, ("door",)), 0)[1].endswith("in no figure: door")


def test_a_bar_is_never_longer_than_it_is() -> None:
    """Over the limit it is full."""
    assert {len(bar(used)) for used in (0.0, 0.33, 1.0, 7.0)} == {CELLS}


def test_no_paper_no_line() -> None:
    """The room goes to what counts."""
    assert lines(PaperView(0), 0) == []
