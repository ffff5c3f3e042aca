"""Editions in the Book room: what they got, and further copies laid ready for the foot."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.book.editions import begin_edition
from controller.desk import Desk
from controller.orders import Order
from drivers.engine_words import Arrange
from tests.controller.book.test_prints import lay_print
from tests.ui.terminal.fake_unit import Tried, walk
from ui.unit import open_book, unit_for


def test_copies_are_laid_ready_for_an_edition(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the list to its page, and from there to the Bench: the run knows what it is for."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    with open_book() as book:
        begin_edition(book, "Low tide", 4)
        lay_print(book, "r1", "K3", edition="Low tide")

    async def steps(tried: Tried) -> None:
        await tried.press("7", "e")
        assert "Low tide: 4 copies; 0 signed" in tried.text
        await tried.press("enter")
        assert "unsigned K3 got 00 10.00 s" in tried.text
        await tried.press("n")
        assert "4 sheets, all that are left" in tried.text
        await tried.press("down", "down", "enter")
        assert "2 sheets, from K3 C-D, for Low tide" in " ".join(tried.text.split())
        [laid] = tried.unit.of(Arrange)
        assert isinstance(laid, Arrange)
        desk = Desk.model_validate_json(laid.desk)
        run = desk.run(Order.PRINT, unit_for(None, []).rig)
        assert (run.edition, desk.sheets) == ("Low tide", 2)
        assert desk.run(Order.STRIP, unit_for(None, []).rig).edition == ""

    walk(tmp_path, steps, size=(80, 24))


def test_an_empty_book_says_how_an_edition_begins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No edition: a word, and no fault."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))

    async def steps(tried: Tried) -> None:
        await tried.press("7", "e")
        assert "dryside book edition new" in tried.text

    walk(tmp_path, steps, size=(80, 24))
