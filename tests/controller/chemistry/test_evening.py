"""Each bath of a process is told of, also the ones that nobody mixed, and the trays' own words."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from controller.book.book import Book
from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base
from controller.chemistry.evening import Missing, evening, evening_lines
from controller.chemistry.product import find_product, shipped
from controller.chemistry.shelf import bath_of, made, set_of_two, standing
from controller.chemistry.tonight import Edition, Need
from controller.enlarger.lamp import ns
from controller.trays.clock import Through
from controller.trays.kept import keep_through
from controller.trays.line import Lay
from controller.trays.process import PROCESSES, short_beside

NOW = datetime(2026, 5, 1, 18, tzinfo=UTC)
KNOWN = {product.name: product for product in shipped()}


def shelf(folder: Path) -> Book:
    book = Book.open(folder / "book.db", now=lambda: NOW)
    developer = bath_of(find_product(KNOWN, "paper developer", "test"), 1000, NOW)
    made(book, developer, *set_of_two(find_product(KNOWN, "fixer in two", "test"), 1000, NOW))
    return book


def test_every_bath_of_the_process_is_told_of(tmp_path: Path) -> None:
    """Those that stand there, the second fixer, and a stop bath that nobody mixed."""
    trays = [step.name for step in PROCESSES["two-bath"].steps if step.time_s is not None]
    edition = Edition(30, EIGHT_BY_TEN_M2, Base.FIBRE, 4.0)
    told = evening(standing(shelf(tmp_path), NOW), trays, edition, shipped(), NOW)
    developer, stop, first, second = told
    assert isinstance(developer, Need)
    assert (developer.takes, developer.fresh_baths) == (25, 1)
    assert isinstance(stop, Missing)
    assert evening_lines(stop)[1] == ("  mix 1 l of stop bath: 50 ml concentrate and 950 ml water")
    assert [evening_lines(each) for each in (first, second)] == [
        ["first fixer: enough, it takes 40 of these"],
        ["second fixer: enough as long as the first is"],
    ]


def test_a_bath_of_no_known_kind_of_product_is_told_without_an_amount(tmp_path: Path) -> None:
    """Nobody can say how a bleach is mixed that nobody described."""
    edition = Edition(3, EIGHT_BY_TEN_M2, Base.FIBRE)
    (bleach,) = evening([], ["bleach", "rinse"], edition, shipped(), NOW)
    assert evening_lines(bleach) == ["bleach: no bath is kept, and no product for it is known"]


def test_a_fixer_without_a_bath_is_said_once(tmp_path: Path) -> None:
    """A process of one fixer over a shelf of two: the sheets would be counted nowhere."""
    book, told = shelf(tmp_path), set[str]()
    lay = (Lay("developer", 120.0, 120.0, 0.0), Lay("fixer", 120.0, 120.0, 0.0))
    said = [
        keep_through(
            book, Through(mark, "", "fibre", "fibre", lay, ended_ns=ns(1)), NOW, 20.0, told=told
        )
        for mark in ("K1", "K2")
    ]
    words = "no bath is kept for fixer: sheets are not counted through it"
    assert [words in each for each in said] == [True, False]


def test_a_strip_goes_through_the_first_of_two_fixers() -> None:
    """It is fixed where prints are, and counted there."""
    short = short_beside(PROCESSES["strip"], PROCESSES["two-bath"])
    assert [step.name for step in short.steps] == ["developer", "stop", "first fixer", "water"]
