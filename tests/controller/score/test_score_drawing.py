"""The sketch of a score in the terminal."""

from __future__ import annotations

import unicodedata
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from controller.score.drawing import draw_sketch, sketch_key
from controller.score.file import from_tables
from controller.score.model import Score
from controller.score.outline import Line, borders, parts, turned
from tests.controller.imagined_scene import SCENE

SMALL = {
    "base_s": 8,
    "passes": [{"label": "print"}],
    "sketch": ["SSSS", "SSSS", "HHDD"],
    "regions": {"S": "sky", "H": "house", "D": "door"},
    "burns": [{"regions": ["sky"], "amount": "+1/2"}],
    "dodges": [{"regions": ["door"], "amount": "1s", "within": "print"}],
    "paper": {"width_mm": 200, "height_mm": 150},
}


def small(**tables: object) -> Score:
    return from_tables(SMALL | tables, "test")


def test_regions_have_outlines_names_and_marks():
    """A burn is +, a dodge is -, each with its amount where there is room."""
    assert draw_sketch(small(), 32, 13) == [
        "┌──────────────────────────────┐",
        "│                              │",
        "│                              │",
        "│             sky              │",
        "│             +1/2             │",
        "│                              │",
        "│                              │",
        "├──────────────┬───────────────┤",
        "│              │     door      │",
        "│    house     │    -1.0 s     │",
        "│              │               │",
        "└──────────────┴───────────────┘",
    ]


def test_where_there_is_less_room_less_is_said():
    """First the amounts go and leave their signs, then the names, then all but the outlines."""
    assert draw_sketch(small(), 16, 6) == [
        "┌──────────────┐",
        "│     sky      │",
        "│     +1/2     │",
        "├──────┬───────┤",
        "│house │door - │",
        "└──────┴───────┘",
    ]
    assert draw_sketch(small(), 8, 3) == ["┌──────┐", "├──┬───┤", "└──┴───┘"]


def test_the_sketch_can_be_drawn_as_it_lies_on_the_easel():
    """Turned by half a circle, names upright."""
    lines = draw_sketch(small(), 32, 13, upright=False)
    assert "door" in lines[1] + lines[2]
    assert any("sky" in line for line in lines[5:])
    assert lines[1].index("door") < 16


def test_the_key_tells_every_letter():
    """Letter, name and handwork, in the order in which they come in the sketch."""
    assert sketch_key(small()) == ["S  sky  +1/2", "H  house", "D  door  -1.0 s"]
    assert "C  cloud  +2/3 soft  +1/3 soft" in sketch_key(SCENE)


def test_a_pass_goes_before_its_amount_does():
    """Where name, amount and pass have no room, the amount stays; the key has all of it."""
    two = small(
        passes=[{"label": "soft"}, {"label": "hard", "dose": "-1"}],
        burns=[],
        dodges=[{"regions": ["door"], "amount": "1s", "within": "soft"}],
        sketch=["SSSS", "HHHD", "HHHD"],
    )
    assert "-1.0 s soft" in "".join(draw_sketch(two, 60, 24))
    narrow = draw_sketch(two, 32, 13)
    assert "-1.0 s" in "".join(narrow)
    assert "soft" not in "".join(narrow)
    assert sketch_key(two, handwork_only=True) == ["D  door  -1.0 s soft"]


def test_what_is_elsewhere_is_named_where_it_is_burned():
    """Cells without a region have no name, unless something is done there."""
    bare = small(sketch=["SSSS", "....", "HHDD"])
    assert not any("elsewhere" in line for line in draw_sketch(bare, 60, 24))
    burned = small(
        sketch=["SSSS", "....", "HHDD"], burns=[{"regions": ["elsewhere"], "amount": "+1"}]
    )
    assert any("elsewhere" in line for line in draw_sketch(burned, 60, 24))


def test_without_a_sketch_there_is_nothing_to_draw():
    """An empty list, and no frame of nothing."""
    bare = from_tables({"base_s": 8, "passes": [{"label": "print"}]}, "test")
    assert draw_sketch(bare, 80, 24) == []


def columns_of(line: str) -> int:
    return sum(2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in line)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(-1, 140),
    st.integers(-1, 50),
    st.sampled_from(["sky", "\u96ea\u306e\u7a7a", "cie\u0301l", "a\u200bb", "one two three"]),
    st.booleans(),
)
def test_the_drawing_fits_any_terminal(columns: int, rows: int, name: str, upright: bool):
    """Never wider or higher than asked, every line as long as the first, wide letters counted."""
    score = small(regions={"S": name, "H": "house", "D": "door"}, burns=[])
    lines = draw_sketch(score, columns, rows, upright=upright)
    assert len(lines) <= max(0, rows)
    assert {columns_of(line) for line in lines} <= {columns_of(lines[0]) if lines else 0}
    assert not lines or columns_of(lines[0]) <= columns
    for lined in draw_sketch(SCENE, columns, rows, upright=upright):
        assert len(lined) <= columns


# --- shapes -----------------------------------------------------------------------------------

sketches = st.integers(1, 7).flatmap(
    lambda width: st.lists(st.text("ab.", min_size=width, max_size=width), min_size=1, max_size=7)
)


@given(sketches)
def test_parts_share_the_cells_out(rows: list[str]):
    """Every cell is in one part of its letter; every box lies within its part."""
    found = parts(rows)
    cells = [cell for part in found for cell in part.cells]
    assert sorted(cells) == sorted((x, y) for y, row in enumerate(rows) for x in range(len(row)))
    for part in found:
        assert {rows[y][x] for x, y in part.cells} == {part.letter}
        for box in part.boxes:
            inside = {
                (x, y) for x in range(box.left, box.right) for y in range(box.top, box.bottom)
            }
            assert inside
            assert inside <= part.cells
        assert part.cells == {
            (x, y)
            for box in part.boxes
            for x in range(box.left, box.right)
            for y in range(box.top, box.bottom)
        }


@given(sketches)
def test_borders_are_as_long_as_the_sides_at_which_letters_differ(rows: list[str]):
    """No side is left out or drawn twice."""
    differ = sum(a != b for row in rows for a, b in pairwise(row))
    differ += sum(
        a != b for above, below in pairwise(rows) for a, b in zip(above, below, strict=True)
    )
    assert sum(abs(line.x1 - line.x0) + abs(line.y1 - line.y0) for line in borders(rows)) == differ


def test_a_straight_border_is_one_line():
    """Lines are as long as they go."""
    assert borders(["aab", "aab"]) == [Line(2, 0, 2, 2)]


@given(sketches)
def test_turned_twice_is_as_before(rows: list[str]):
    """Half a circle and half a circle; the first cell comes last."""
    assert turned(turned(rows)) == tuple(rows)
    assert turned(rows)[-1][-1] == rows[0][0]
