"""A number of things in words."""

from __future__ import annotations

import pytest

from controller.book.print_entries import of_how_many, proofs_warning
from controller.numbered import numbered


@pytest.mark.parametrize(
    ("count", "told"), [(0, "0 prints"), (1, "1 print"), (2, "2 prints"), (21, "21 prints")]
)
def test_only_one_is_singular(count: int, told: str) -> None:
    """One is singular, none and many are plural."""
    assert numbered(count, "print") == told


def test_a_plural_of_its_own() -> None:
    """What has a plural of its own gets it."""
    assert numbered(1, "copy", "copies") == "1 copy"
    assert numbered(5, "copy", "copies") == "5 copies"


def test_an_edition_is_told_in_right_forms() -> None:
    """One artist's proof is one, and a warning counts as it should."""
    assert of_how_many(5, 1) == "5 copies and 1 artist's proof"
    assert of_how_many(1, 0) == "1 copy"
    assert proofs_warning(5, 2).startswith("2 artist's proofs of an edition of 5")
