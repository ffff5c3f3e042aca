"""Densities of dry prints: kept by region, and refused where they are none."""

from __future__ import annotations

import pytest

from controller.book.book import Book
from controller.book.tones import IMAGINED, Tone, keep_tones
from controller.book.whole import whole_print
from controller.errors import BadInput
from tests.controller.book.test_prints import lay_print


def test_densities_are_kept_with_the_print_and_replaced_one_by_one(book: Book) -> None:
    """What is read anew takes the place of what was there of that region alone."""
    lay_print(book, "a" * 32, "K1")
    keep_tones(book, "K1", {"sky": 0.31, "door": 1.4}, IMAGINED)
    kept = keep_tones(book, "K1", {" SKY ": 0.35})
    assert set(kept) == {Tone("door", 1.4, IMAGINED), Tone("Sky", 0.35, "densitometer")}
    assert set(whole_print(book, "K1").tones) == set(kept)


def test_every_print_of_a_mark_keeps_its_own(book: Book) -> None:
    """Another print knows nothing of them."""
    lay_print(book, "a" * 32, "K1")
    lay_print(book, "b" * 32, "K2")
    keep_tones(book, "K1", {"sky": 0.31})
    assert whole_print(book, "K2").tones == ()


@pytest.mark.parametrize(
    ("densities", "right"),
    [
        ({"quay": 0.4}, "one of Sky, door"),
        ({"sky": -0.1}, "0 to 3.5"),
        ({"sky": float("nan")}, "0 to 3.5"),
    ],
)
def test_what_is_no_density_is_refused_and_nothing_kept(
    book: Book, densities: dict[str, float], right: str
) -> None:
    """In one sentence that says what would be right."""
    lay_print(book, "a" * 32, "K1")
    with pytest.raises(BadInput, match=right):
        keep_tones(book, "K1", {"door": 1.0} | densities)
    assert whole_print(book, "K1").tones == ()
