"""Editions in the Book room: what they got, and further copies laid ready for the foot."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.book.editions import begin_edition, editions
from controller.desk.desk import Desk
from controller.desk.orders import Order
from drivers.engine_words import Arrange
from tests.controller.book.test_prints import lay_print
from tests.ui.terminal.an_evening import SPLIT
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


def test_the_first_copies_are_made_from_what_lies_ready(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An edition without a print takes the score at the Bench; without one it says what to do."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    with open_book() as book:
        begin_edition(book, "Low tide", 4)
    ready = SPLIT.model_copy(update={"kept_as": "quay"})

    async def steps(tried: Tried) -> None:
        await tried.press("7", "e", "enter", "n")
        assert "It has no print yet: from what lies ready" in " ".join(tried.text.split())
        await tried.press("down", "down", "enter")
        desk = Desk.model_validate_json(tried.unit.of(Arrange)[-1].desk)
        assert (desk.score, desk.kept_as) == (SPLIT.score, "quay")
        assert (desk.edition, desk.sheets) == ("Low tide", 2)

    async def none_ready(tried: Tried) -> None:
        await tried.press("7", "e", "enter", "n")
        assert "lay its score ready in the Score room first" in " ".join(tried.text.split())

    walk(tmp_path, steps, size=(80, 24), desk=ready)
    walk(tmp_path, none_ready, size=(80, 24))


def test_what_would_be_lost_is_said_before_copies_take_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A score that is kept nowhere is not let go without a word; the first answer keeps it."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    with open_book() as book:
        begin_edition(book, "Low tide", 4)
        lay_print(book, "r1", "K3", edition="Low tide")

    async def steps(tried: Tried) -> None:
        await tried.press("7", "e", "enter", "n")
        assert "What lies ready is kept nowhere, and goes:" in " ".join(tried.text.split())
        await tried.press("enter")
        assert tried.unit.desk == SPLIT

    walk(tmp_path, steps, size=(80, 24), desk=SPLIT)


def test_an_edition_begins_on_its_page_and_none_is_changed_by_accident(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Name and copies are enough; a name that is taken is refused, and its page opens at once."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))

    async def steps(tried: Tried) -> None:
        await tried.press("7", "e")
        assert "b begins one" in tried.text
        await tried.press("b", *"Quay", "down", *"0", "ctrl+s")
        assert "copies: 0 is out of range; right would be" in " ".join(tried.text.split())
        await tried.press("backspace", *"12", "down", *"2")
        told = " ".join(tried.text.split())
        assert "ctrl+s begins it: 12 copies and 2 artist's proofs" in told
        assert "the trade is used to a tenth" not in told
        await tried.press("ctrl+s")
        assert "Quay: 12 copies and 2 artist's proofs; 0 signed" in tried.text
        await tried.press("escape", "b", *"quay", "down", *"3", "ctrl+s")
        assert "there is an edition quay" in tried.text

    walk(tmp_path, steps, size=(80, 24))
    with open_book() as book:
        [one] = editions(book)
        assert (one.name, one.copies, one.artist_proofs) == ("Quay", 12, 2)


def test_a_print_s_own_page_makes_copies_of_it_and_gives_any_number(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Copies come from the print that was looked at, not the last; a number is chosen."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    with open_book() as book:
        begin_edition(book, "Low tide", 4, artist_proofs=1)
        lay_print(book, "r1", "K3", edition="Low tide")
        lay_print(book, "r2", "K4", edition="Low tide", paper={"name": "Other"})

    async def steps(tried: Tried) -> None:
        await tried.press("7", "slash", *"K3", "enter", "p", "n")
        assert "copies of K3: enter opens" in tried.text
        await tried.press("enter", "n")
        assert "copies of Low tide, from K3" in tried.text
        await tried.press("down", "down", "enter")
        desk = Desk.model_validate_json(tried.unit.of(Arrange)[-1].desk)
        assert desk.score is not None
        assert (desk.score.paper.name, desk.sheets) == ("Warm Fibre", 2)
        assert desk.edition == "Low tide"
        await tried.press("7", "slash", *"K4", "enter", "p", "e", "down", "enter")
        assert "K4 of Low tide, as which?" in tried.text
        offered = [line.strip(" │") for line in tried.text.splitlines()]
        for number in ("1/4", "AP 1/1", "PP", "HC", "BAT", "2/4"):
            assert any(line.startswith(number) for line in offered), number
        await tried.press("down", "down", "enter")
        assert "K4 is AP 1/1 of Low tide" in tried.text

    walk(tmp_path, steps, size=(80, 24))
