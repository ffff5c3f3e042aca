"""A sketch drawn by words."""

from __future__ import annotations

import pytest

from controller.errors import BadInput
from controller.score.change import with_burn, without
from controller.score.model import Pass, Score
from controller.score.sketching import with_region
from controller.score.typed import change_typed, strip_typed
from controller.strips.strip import Purpose

BARE = Score(base_s=8, passes=(Pass(label="soft", filter="00"),))


def test_blocks_of_cells_make_a_region() -> None:
    """Counted from the left and the top; a second block goes on with the same region."""
    score = with_region(BARE, "sky=1-16:1-3", "")
    score = with_region(score, "sky = 1-4:4", "")
    assert score.regions == {"S": "sky"}
    assert score.sketch[:5] == ("S" * 16, "S" * 16, "S" * 16, "SSSS" + "." * 12, "." * 16)
    assert len(score.sketch) == 12


def test_a_later_region_takes_cells_and_a_letter_of_its_own() -> None:
    """Of two that begin alike the second gets another letter; one that is covered is gone."""
    score = with_region(with_region(BARE, "sky=1-16:1-4", ""), "sail=3-5:2-4", "")
    assert score.regions == {"S": "sky", "A": "sail"}
    assert score.sketch[1] == "SSAAASSSSSSSSSSS"
    assert with_region(score, "fog=1-16:1-12", "").regions == {"F": "fog"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("sky", "NAME=COLUMNS:ROWS"),
        ("sky=1-17:1-4", "1 to 16"),
        ("sky=4-2:1", "1 to 16"),
        ("sky=1:0-3", "1 to 12"),
        ("=1:1", "NAME=COLUMNS:ROWS"),
    ],
)
def test_what_is_no_block_is_refused(text: str, said: str) -> None:
    """One sentence, with what would be right."""
    with pytest.raises(BadInput, match=said):
        with_region(BARE, text, "")


def test_a_region_goes_only_where_nothing_needs_it() -> None:
    """Taken out, its cells are nobody's; with a burn of it that is refused."""
    score = with_region(BARE, "sky=1-16:1-4", "")
    assert without(score, "region:sky", "").regions == {}
    burned = with_burn(score, "sky=+1@soft", "")
    with pytest.raises(BadInput, match="sky"):
        without(burned, "region:sky", "")
    with pytest.raises(BadInput, match="no region"):
        without(score, "region:lake", "")


def test_a_region_and_its_strip_are_typed_in_one_line_each() -> None:
    """What is needed to burn a place of an unknown negative, on the screen alone."""
    score = change_typed(BARE, "region sky=1-16:1-4")
    strip = strip_typed(score, "strip burn sky@soft by 1/2", (203, 25))
    assert strip is not None
    assert strip.purpose == Purpose(kind="burn", region="sky", within="soft")
    assert (str(strip.step), strip.base_s, strip.way) == ("1/2", 8, "same-spot")
    assert strip_typed(score, "burn sky=+1@soft", (203, 25)) is None
    with pytest.raises(BadInput, match="strip burn"):
        strip_typed(score, "strip sky", (203, 25))
    with pytest.raises(BadInput, match="no region"):
        strip_typed(score, "strip dodge lake@soft", (203, 25))
