"""Prints found by words, by what they were made of, and by what the hands did."""

from __future__ import annotations

from datetime import date

import pytest

from controller.book.book import Book
from controller.book.finding import Looked, find
from controller.book.print_entries import Negative, RoomThen
from controller.book.prints import keep_negative, lay_room, tell_of
from controller.book.prints_made import handwork_stops
from controller.book.whole import whole_print
from controller.events import Remark
from controller.score.file import from_tables
from tests.controller.book.test_prints import HARBOUR, lay_print


def marks(book: Book, **looked: object) -> list[str]:
    return [one.mark for one in find(book, Looked(**looked))]  # type: ignore[arg-type]


@pytest.fixture
def prints(book: Book) -> Book:
    """Three prints of two negatives."""
    lay_print(book, "one", "K1")
    lay_print(book, "two", "K2", paper={"name": "Pearl", "batch": "B1"})
    lay_print(book, "three", "K3", title="Pier", negative="24-18/1", burns=[])
    keep_negative(book, Negative("24-17/3", film="ISO 400", tags=("sea",)))
    tell_of(book, "K1", rating=4, remark="Straße im Dunst", went="the framer")
    return book


@pytest.mark.parametrize(
    ("looked", "wanted"),
    [
        ({}, ["K3", "K2", "K1"]),
        ({"words": "STRASSE dunst"}, ["K1"]),
        ({"words": "400"}, ["K2", "K1"]),
        ({"words": "100%"}, []),
        ({"negative": "24-18/1"}, ["K3"]),
        ({"paper": "pearl"}, ["K2"]),
        ({"batch": "A7"}, ["K3", "K1"]),
        ({"tag": "Sea"}, ["K2", "K1"]),
        ({"at_least": 4}, ["K1"]),
        ({"burn": "sky", "over_stops": 1.0}, ["K2", "K1"]),
        ({"burn": "sky", "over_stops": 4 / 3}, []),
        ({"burn": "sky", "under_stops": 1.0}, []),
        ({"dodge": "door", "over_stops": 0.9, "under_stops": 1.1, "paper": "pearl"}, ["K2"]),
        ({"since": date(2024, 2, 28), "until": date(2024, 3, 3)}, ["K3", "K2", "K1"]),
        ({"since": date(2024, 3, 3)}, []),
        ({"until": date(2024, 2, 28)}, []),
    ],
)
def test_all_that_is_asked_for_must_fit(
    prints: Book, looked: dict[str, object], wanted: list[str]
) -> None:
    """Each way of narrowing leaves what fits, the newest first."""
    assert marks(prints, **looked) == wanted


def test_two_burns_of_a_stop_over_one_pass_are_found_as_one_and_a_half() -> None:
    """Light adds and stops do not: 1 + 1 + 1 times the light is log2(3) stops."""
    burn = {"regions": ["Sky"], "amount": "+1", "over": "soft"}
    score = from_tables(HARBOUR | {"burns": [burn, burn]}, "test")
    stops = {(kind, region): value for kind, region, value in handwork_stops(score)}
    assert stops["burn", "sky"] == pytest.approx(1.58496, abs=1e-5)
    assert stops["dodge", "door"] == pytest.approx(1.0)


def test_another_negative_said_later_is_the_one_it_is_found_by(prints: Book) -> None:
    """A print may be told of which negative it is, and then is found among that one's."""
    tell_of(prints, "K3", negative="24-17/3")
    assert marks(prints, negative="24-17/3") == ["K3", "K2", "K1"]
    assert marks(prints, words="pier iso") == ["K3"]


def test_a_remark_that_is_made_later_is_found_too(prints: Book) -> None:
    """As when the evening is closed, long after the print was filled in."""
    assert marks(prints, words="halo") == []
    prints.write(Remark("two", "a Halo round the mast"))
    assert marks(prints, words="halo mast") == ["K2"]


def test_the_room_is_put_down_once(prints: Book) -> None:
    """What stood beside a print stays, whatever the room became since."""
    lay_room(prints, ["one", "nowhere"], RoomThen("2024-03-01", {"ceiling": "6 min"}))
    lay_room(prints, ["one", "two"], RoomThen("2024-04-01", {"ceiling": "2 min"}, ("old",)))
    rooms = [whole_print(prints, mark).room for mark in ("K1", "K2", "K3")]
    assert [room and room.safe["ceiling"] for room in rooms] == ["6 min", "2 min", None]
