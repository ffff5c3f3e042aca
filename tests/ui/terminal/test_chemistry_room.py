"""The baths on the screen: mixed, counted, rotated and poured out by keys and by mouse."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from textual.widgets import Select

from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Bath
from controller.chemistry.freshness import Status
from controller.chemistry.product import FILE, shipped
from controller.chemistry.shelf import bath_of, count_sheet, made, set_of_two, standing
from controller.desk.evening import BathFate
from tests.ui.terminal.fake_unit import SIZES, Tried, walk
from ui.unit import open_book


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    return tmp_path


def baths() -> list[Status]:
    """What the book has."""
    with open_book() as book:
        return standing(book, datetime.now(UTC))


def product(name: str) -> Bath:
    """A litre of it, five hours old."""
    at = datetime.now(UTC) - timedelta(hours=5)
    return bath_of(next(each for each in shipped() if each.name == name), 1000, at)


def write_baths() -> None:
    """A developer that was used, a stop bath, and two fixers of which the first is used up."""
    now = datetime.now(UTC)
    two = next(each for each in shipped() if each.name == "fixer in two baths")
    with open_book() as book:
        made(book, product("paper developer"), product("stop bath"), *set_of_two(two, 1000, now))
        for tray, sheets in (("developer", 22), ("first fixer", 40)):
            count_sheet(book, tray=tray, area_m2=EIGHT_BY_TEN_M2, base=Base.FIBRE, mark="",
                        at=now, sheets=sheets)  # fmt: skip


def test_a_bath_is_mixed_and_put_down(home: Path) -> None:
    """The card is shown as it is typed; a colon is refused; a second bath asks for the first."""

    async def steps(tried: Tried) -> None:
        await tried.press("6", "m")
        await tried.type("1000")
        assert "Add 100 ml of concentrate" in tried.text
        await tried.press("up")
        await tried.type("1:9")
        assert "type it with a plus" in tried.text
        await tried.press("ctrl+s")
        assert "type it with a plus" in tried.text
        await tried.pilot.press("backspace", "backspace")
        await tried.type("+14")
        await tried.press("ctrl+s")
        assert "0% by age" in tried.text
        await tried.press("m")
        await tried.type("500")
        await tried.press("ctrl+s")
        assert "paper developer stands in developer already" in tried.text
        await tried.press("down", "enter")
        assert "No bath" not in tried.text

    walk(home, steps)
    (found,) = baths()
    assert (found.bath.dilution, found.bath.volume_ml) == ("1+9", 500)


def test_what_becomes_of_a_bath_is_taken_by_keys_and_clicks(home: Path) -> None:
    """Counted, bottled, rotated, poured out."""
    write_baths()

    async def steps(tried: Tried) -> None:
        await tried.press("6")
        assert "88% by paper" in tried.text
        assert "two baths: second becomes first" in tried.text
        await tried.press("enter", "down", "enter")
        assert "92% by paper" in tried.text
        await tried.press("r", "down", "enter")
        assert "the second is the first now" in tried.text
        await tried.press("enter")
        await tried.click("it was poured out")
        assert "put down as poured out" in tried.text
        await tried.press("enter")
        await tried.click("full bottle")

    walk(home, steps)
    names = [(each.tray, each.place.value) for each in baths()]
    assert names == [
        ("stop bath", "full bottle"),
        ("first fixer", "tray"),
        ("second fixer", "tray"),
    ]


def test_nothing_of_the_baths_is_cut_off(home: Path) -> None:
    """On the smallest panel each bath has its bar, its share and what to do."""
    write_baths()

    async def steps(tried: Tried) -> None:
        await tried.press("6")
        for words in (
            "developer",
            "━━━━━━━┄ 88% by paper",
            "have the next one ready",
            "5 h",
            "rotate the two baths",
            "the first bath has fixed all that it can",
            "q leave",
        ):
            assert words in tried.text, words

    walk(home, steps, size=SIZES[0])


def test_a_bad_file_of_products_is_said_in_the_room(home: Path) -> None:
    """One sentence instead of the form."""
    (home / FILE).write_text("[[product]]\nname = 'x'\n")

    async def steps(tried: Tried) -> None:
        await tried.press("6", "m")
        assert "it is missing" in tried.text

    walk(home, steps)


def test_the_evening_begins_with_worn_baths_and_ends_with_them_gone(home: Path) -> None:
    """They are told before the first sheet; what is poured away at the end is put down as gone."""
    write_baths()

    async def steps(tried: Tried) -> None:
        await tried.press("1", "o")
        assert "developer nearly used up, 88% by paper" in tried.text
        assert "first fixer used up" in tried.text
        await tried.press("escape", "c")
        tried.app.screen.query_one("#bath2", Select).value = BathFate.COLLECTED.name
        await tried.press("ctrl+s")

    walk(home, steps)
    assert [each.tray for each in baths()] == ["developer", "stop bath"]
