"""Baths in the book: kept over a restart, counted, rotated, poured out."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from controller.book import chemistry as kept
from controller.book.book import Book
from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Bath, Place, Role
from controller.chemistry.freshness import State
from controller.chemistry.product import Product, shipped
from controller.chemistry.rotation import Move
from controller.chemistry.shelf import (
    bath_of,
    cleaned,
    count_sheet,
    count_through,
    discarded,
    history,
    made,
    moved,
    poured_out,
    rotate,
    set_of_two,
    sets,
    standing,
    to_clean,
)
from controller.errors import BadInput, Refused
from controller.events import SheetBegun
from tests.controller.book.histories import begun, now


def product(name: str) -> Product:
    """A starting point."""
    return next(each for each in shipped() if each.name == name)


def mixed(name: str, tray: str) -> Bath:
    """A litre of it."""
    return bath_of(product(name), 1000, now(), tray=tray)


def count(book: Book, tray: str, sheets: int = 1) -> str:
    """Count 8x10 in of fibre; gives what was said."""
    said = count_sheet(book, tray=tray, area_m2=EIGHT_BY_TEN_M2, base=Base.FIBRE, mark="K7",
                       at=now(), sheets=sheets)  # fmt: skip
    return said.say


def test_what_was_put_down_is_there_after_a_restart(path: Path) -> None:
    """Bath, figures, sheets and places, as they were."""
    with Book.open(path, now=now) as book:
        made(book, mixed("paper developer", "developer"))
        count(book, "Developer ")
        moved(book, "developer", Place.FULL, now() + timedelta(hours=1))
        before = standing(book, now() + timedelta(hours=2))
    with Book.open(path, now=now) as book:
        assert standing(book, now() + timedelta(hours=2)) == before
    (found,) = before
    assert (found.sheets, found.place) == (1, Place.FULL)
    assert found.life_share == pytest.approx(1 / 8 + 1 / 24)


def test_silent_to_four_fifths_then_one_word_and_each_time_when_used_up(book: Book) -> None:
    """25 sheets: the 20th is told, and from the 25th every one."""
    made(book, mixed("paper developer", "developer"))
    said = [bool(count(book, "developer")) for _ in range(27)]
    assert [number for number, each in enumerate(said, start=1) if each] == [20, 25, 26, 27]


def test_a_tray_without_a_bath_is_no_fault(book: Book) -> None:
    """The trays go on, whatever is kept of their baths."""
    found = count_sheet(book, tray="wash", area_m2=1, base=Base.FIBRE, mark="K7", at=now())
    assert (found.status, found.say) == (None, "")


def test_a_bath_is_not_lost_under_another(book: Book) -> None:
    """The former one has to be poured out, or replaced by name; its history stays."""
    made(book, mixed("paper developer", "developer"))
    with pytest.raises(BadInput, match="--replace"):
        made(book, mixed("developer stock", "DEVELOPER"))
    (gone,) = made(book, mixed("developer stock", "developer"), over=True)
    assert gone.bath.product == "paper developer"
    assert [each.bath.product for each in standing(book, now())] == ["developer stock"]
    with book.looking() as db:
        assert len(kept.baths(db, discarded=True)) == 2


def test_two_baths_rotate_by_count_and_end_together(book: Book) -> None:
    """Four times at forty sheets; then both are to be replaced, unless it is meant."""
    of = product("fixer in two baths")
    made(book, *set_of_two(of, 1000, now()))
    for promotions in range(4):
        assert count(book, "first fixer", 39)
        count(book, "second fixer", 39)
        assert "rotate" in count(book, "first fixer")
        ((first, second, found),) = sets(standing(book, now()), now())
        assert (first.promotions, found.move) == (promotions, Move.PROMOTE)
        assert second is not None
        rotate(book, of, 1000, now())
    count(book, "first fixer", 40)
    with pytest.raises(Refused, match="4 times"):
        rotate(book, of, 1000, now())
    rotate(book, of, 1000, now(), anyway=True)
    names = [(each.tray, each.role) for each in standing(book, now())]
    assert names == [("first fixer", Role.FIRST), ("second fixer", Role.SECOND)]


def test_a_set_ends_after_a_week(book: Book) -> None:
    """However little it was used; what was promoted inherits the age of its set."""
    of = product("fixer in two baths")
    made(book, *set_of_two(of, 1000, now()))
    with pytest.raises(Refused, match="taken 0% of what it can: it is too early to pour it out"):
        rotate(book, of, 1000, now() + timedelta(days=3))
    rotate(book, of, 1000, now() + timedelta(days=3), anyway=True)
    week = now() + timedelta(days=7)
    ((_, _, found),) = sets(standing(book, week), week)
    assert found.move is Move.REPLACE_BOTH
    discarded(book, "second fixer", week)
    with pytest.raises(BadInput, match="no two fixing baths"):
        rotate(book, of, 1000, week)


def test_a_tray_asks_to_be_cleaned_by_what_went_through_it(book: Book) -> None:
    """After a hundred of 8x10, over several baths; and is silent when it was."""
    for _ in range(5):
        made(book, mixed("paper developer", "developer"), over=True)
        count(book, "developer", 20)
    (said,) = to_clean(book, ["developer", "wash"])
    assert said == "developer: 100 of 8x10 since it was cleaned; clean the tray"
    cleaned(book, "Developer", now() + timedelta(minutes=1))
    assert to_clean(book, ["developer"]) == []
    assert standing(book, now())[0].state is State.LOW


def test_a_weaker_bath_takes_less_paper_and_a_stronger_one_not_more(book: Book) -> None:
    """1+19 has half the concentrate of 1+9, and is trusted with half of the paper."""
    of = product("paper developer")
    for parts, share in (("1+19", 0.5), ("1+9", 1), ("1+4", 1), ("", 1)):
        bath = bath_of(of, 1000, now(), dilution=parts)
        assert bath.figures.fibre_m2_per_l == pytest.approx(25 * EIGHT_BY_TEN_M2 * share)
        assert bath.dilution == (parts or "1+9")


def test_the_history_has_what_is_gone_as_it_was(book: Book) -> None:
    """The newest first, each with its age at its end."""
    made(book, mixed("paper developer", "developer"))
    discarded(book, "developer", now() + timedelta(hours=3))
    made(book, mixed("stop bath", "stop"))
    later = now() + timedelta(hours=9)
    found = history(book, later, 10)
    assert [(each.tray, each.discarded, each.age_h) for each in found] == [
        ("stop", False, 9),
        ("developer", True, 3),
    ]
    assert poured_out(book, ["Stop bath", "fixer"], later) == ["stop"]
    assert standing(book, later) == []


def test_a_sheet_is_counted_through_its_trays_by_the_size_that_the_book_has(book: Book) -> None:
    """A mark without a size counts as 8x10 in, and that is said."""
    made(book, mixed("paper developer", "developer"), mixed("stop bath", "stop"))
    book.write(begun("one"))
    book.write(SheetBegun("one", "K7", 406.4, 508))
    trays = ("developer", "stop", "wash")
    assert count_through(book, trays, mark="K7", base=Base.FIBRE, at=now()) == []
    shares = [each.area_m2 / EIGHT_BY_TEN_M2 for each in standing(book, now())]
    assert shares == pytest.approx([4, 4])
    (said,) = count_through(book, trays[:1], mark="K8", base=Base.FIBRE, at=now())
    assert "K8" in said
    assert standing(book, now())[0].area_m2 == pytest.approx(5 * EIGHT_BY_TEN_M2)
