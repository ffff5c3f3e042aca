"""Tests of the room, and what is said of paper, by keys in the Room screen."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.desk.orders import Order, Ordered
from controller.exposing.bench import PaperView, ProvingView, SheetShown
from controller.exposing.told import Run
from tests.ui.terminal.fake_unit import Tried, walk


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    return tmp_path


def test_a_test_is_chosen_and_read_question_by_question(home: Path) -> None:
    """One key begins it, another reads it; the next question follows by itself."""

    async def steps(tried: Tried) -> None:
        await tried.press("4", "t")
        assert "no light is listed" in tried.text
        tried.unit.tell(ProvingView(("flash strip", "coin check")))
        await tried.press("t")
        assert "in the dark" in tried.text
        await tried.press("down", "down", "down", "enter")
        assert "Coin check" in tried.text
        assert "clear the floor" in tried.text
        await tried.press("ctrl+s")
        [run] = tried.unit.of(Run)
        assert isinstance(run, Run)
        assert run.plan.kind == "coin check"
        await tried.press("4")
        await tried.press("r")
        assert "waits to be read" in tried.text
        tried.unit.tell(ProvingView((), "K2, before?", ("before, none", "before, step 1")))
        await tried.press("r", "down", "enter")
        assert tried.unit.of(Ordered)[-1] == Ordered(Order.READ_TEST.value, "before, step 1")
        tried.unit.tell(ProvingView((), "K2, after?", ("after, none", "after, step 1")))
        await tried.settle()
        assert "K2, after?" in tried.text
        await tried.press("enter")
        assert tried.unit.of(Ordered)[-1] == Ordered(Order.READ_TEST.value, "after, none")
        tried.unit.tell(ProvingView(("fog test",)))
        await tried.settle()
        assert "K2" not in tried.text

    walk(home, steps, size=(100, 30))


def test_it_is_said_where_a_sheet_is(home: Path) -> None:
    """With one sheet out it is that one; with two it is asked which."""

    async def steps(tried: Tried) -> None:
        one = SheetShown("K1", "at the trays", 0.2)
        tried.unit.tell(PaperView(0, (one,)))
        await tried.press("4", "p")
        place = [o for o in tried.text.splitlines() if "In the stop bath" in o]
        assert place
        await tried.click("In the stop bath")
        assert tried.unit.of(Ordered) == [Ordered(Order.IN_STOP.value, "K1")]
        tried.unit.tell(PaperView(0, (one, SheetShown("K2", "at the easel", 0.1))))
        await tried.press("p")
        await tried.click("In the stop bath")
        assert "Which sheet?" in tried.text
        await tried.press("down", "enter")
        assert tried.unit.of(Ordered)[-1] == Ordered(Order.IN_STOP.value, "K2")

    walk(home, steps, size=(100, 30))
