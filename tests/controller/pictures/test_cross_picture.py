"""The picture of a cross: every row and column labelled, every tone untouched."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.pictures.cross import cross_picture, lay_out_cross
from controller.pictures.page import Caption, Layout, Text
from controller.stops import format_time, parse_step
from controller.strips.cross import Cross, Steps, cells_of
from tests.controller.pictures.test_strips import grey, imagined_width, overlap, words

CAPTION = Caption("cross", mark="K7", way="00 by 5", note="laid over the sky")


def a_cross(
    columns: int = 5, rows: int = 4, *, width_mm: float = 254, height_mm: float = 203
) -> Cross:
    return Cross(
        soft=Steps(filter="00", base_s=8, step=parse_step("1/3"), steps=columns),
        hard=Steps(filter="5", base_s=5, step=parse_step("1/2"), steps=rows),
        width_mm=width_mm,
        height_mm=height_mm,
    )


def laid_out(cross: Cross, *, doses_inside: bool, caption: Caption = CAPTION) -> Layout:
    return lay_out_cross(
        cross,
        width_mm=cross.width_mm,
        height_mm=cross.height_mm,
        caption=caption,
        measure=imagined_width,
        doses_inside=doses_inside,
    )


def paper_of(layout: Layout) -> Text:
    left, top, right, bottom = layout.paper
    return Text("", (bottom - top) / 1.25, left, top, right - left)


def middle(text: Text) -> tuple[float, float]:
    return text.x + text.width / 2, text.y + text.height / 2


# --- layout -----------------------------------------------------------------------------------

steps = st.builds(
    Steps,
    filter=st.sampled_from(["00", "5", "120Y 30M", "a filter with a name of many words", "x" * 60]),
    base_s=st.floats(0.5, 600),
    step=st.sampled_from([parse_step(step) for step in ("1/6", "1/3", "0.37", "1 s", "10 %")]),
    steps=st.integers(2, 12),
)
crosses = st.builds(
    Cross,
    soft=steps,
    hard=steps,
    width_mm=st.floats(20, 510),
    height_mm=st.floats(20, 510),
)
captions = st.builds(Caption, title=words, mark=st.sampled_from(["", "K7"]), note=words)


@given(crosses, captions, st.booleans())
@settings(max_examples=100, deadline=None)
def test_no_two_words_of_a_cross_touch(cross: Cross, caption: Caption, doses_inside: bool) -> None:
    """Whatever the steps, the sheet and the words, texts lie apart and inside the picture."""
    layout = laid_out(cross, doses_inside=doses_inside, caption=caption)
    x0, y0, x1, y1 = np.array([(t.x, t.y, t.x + t.width, t.y + t.height) for t in layout.texts]).T
    assert min(x0.min(), y0.min()) >= 0
    assert x1.max() <= layout.width + 1e-6
    assert y1.max() <= layout.height + 1e-6
    across = np.minimum.outer(x1, x1) - np.maximum.outer(x0, x0) > 1e-6
    down = np.minimum.outer(y1, y1) - np.maximum.outer(y0, y0) > 1e-6
    touching = np.argwhere(np.triu(across & down, k=1))
    assert not [(layout.texts[i].text, layout.texts[j].text) for i, j in touching]


@given(crosses)
@settings(max_examples=50, deadline=None)
def test_nothing_lies_on_the_tones_of_a_cross(cross: Cross) -> None:
    """No word is written on a developed sheet and no line drawn on it."""
    layout = laid_out(cross, doses_inside=False)
    assert not [text for text in layout.texts if overlap(text, paper_of(layout))]
    left, top, right, bottom = layout.paper
    for line in layout.lines:
        (x0, y0), (x1, y1) = line
        beside = max(x0, x1) < left or min(x0, x1) > right
        assert beside or max(y0, y1) < top or min(y0, y1) > bottom


def test_labels_stand_by_their_columns_and_rows() -> None:
    """Each column has its number, seconds and stops above its middle; each row has its letter."""
    layout = laid_out(a_cross(), doses_inside=False)
    left, top, _, _ = layout.paper
    found = {text.text: middle(text) for text in layout.texts}
    for k, (number, seconds) in enumerate(
        zip("12345", ("8.0 s", "10.1 s", "12.7 s", "16.0 s", "20.2 s"), strict=True)
    ):
        at = left + (k + 0.5) * 254 / 5
        assert found[number] == (pytest.approx(at), pytest.approx(top, abs=12))
        assert found[seconds][0] == pytest.approx(at)
        assert found[number][1] < top
    assert found["+1/3 stop"][0] == pytest.approx(left + 1.5 * 254 / 5)
    seconds_of = ("5.0 s", "7.1 s", "10.0 s", "14.1 s")
    for k, (letter, seconds) in enumerate(zip("ABCD", seconds_of, strict=True)):
        at = top + (k + 0.5) * 203 / 4
        assert found[letter][1] == pytest.approx(at)
        assert found[seconds][1] == pytest.approx(at)
        assert found[seconds][0] < found[letter][0] < left
    assert found["soft, filter 00"][1] < top
    assert found["hard, filter 5"][0] < left


@pytest.mark.parametrize("columns", [2, 5, 12])
def test_each_cell_of_a_map_has_its_two_doses(columns: int) -> None:
    """Inside each cell of the map stand its name, its soft and its hard seconds, no others."""
    cross = a_cross(columns)
    layout = laid_out(cross, doses_inside=True)
    left, top, _, _ = layout.paper
    wide, high = 254 / columns, 203 / 4
    for k, cell in enumerate(cells_of(cross)):
        row, column = divmod(k, columns)
        box = Text("", high / 1.25, left + column * wide, top + row * high, wide)
        inside = [text.text for text in layout.texts if overlap(text, box)]
        assert inside[0] == cell.name
        assert inside[1].endswith(format_time(cell.soft_s))
        assert inside[2].endswith(format_time(cell.hard_s))
        assert len(inside) == 3


# --- pictures ---------------------------------------------------------------------------------


def test_each_cell_has_its_tone(tmp_path: Path) -> None:
    """The picture's cells have the tones of the sheet's, first row at the top, column 1 left."""
    tones = {0.0: 255, 0.3: 188, 0.745: 118, 1.0: 89}
    densities = np.array([[0.0, 0.3], [0.745, 1.0]])
    cross = a_cross(2, 2, width_mm=80, height_mm=60)
    path = tmp_path / "cross.png"
    cells = densities.repeat(30, axis=0).repeat(40, axis=1)
    cross_picture(cells, cross, path, mm_per_cell=(1, 1), caption=CAPTION)
    image = grey(path)
    full = np.flatnonzero((image == 255).sum(axis=1) > 250)  # lines across white cell A1
    top, left = full[0], int(np.argmax(image[full[20]] == 255))
    got = [[int(image[top + y, left + x]) for x in (160, 480)] for y in (120, 360)]
    assert got == [[tones[0.0], tones[0.3]], [tones[0.745], tones[1.0]]]


def test_a_cross_has_the_size_asked_for_without_one_of_its_cells(tmp_path: Path) -> None:
    """Without a size of cells the sheet is drawn as large as the cross says."""
    cross = a_cross(2, 2, width_mm=80, height_mm=60)
    with_size, without = tmp_path / "with.png", tmp_path / "without.png"
    cross_picture(np.ones((30, 40)), cross, with_size, mm_per_cell=2, caption=CAPTION)
    cross_picture(np.ones((30, 40)), cross, without, mm_per_cell=None, caption=CAPTION)
    assert with_size.read_bytes() == without.read_bytes()


@pytest.mark.parametrize("size", [(254.0, 203.0), (90.0, 80.0)])
def test_a_map_of_a_cross_keeps_its_margin(tmp_path: Path, size: tuple[float, float]) -> None:
    """A map of twelve by twelve is black on white and leaves its margin empty."""
    path = tmp_path / "map.png"
    cross = a_cross(12, 12, width_mm=size[0], height_mm=size[1])
    cross_picture(None, cross, path, mm_per_cell=None, caption=CAPTION, px_per_mm=4)
    image = grey(path)
    inside = image[20:-20, 20:-20]
    assert (image != 255).sum() == (inside != 255).sum() > 0


# --- refusals ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["nowhere/cross.png", "cross.jpg"])
def test_a_cross_is_not_drawn_just_anywhere(tmp_path: Path, name: str) -> None:
    """A folder that is missing and a name that is no PNG's are refused."""
    with pytest.raises(BadInput, match=name):
        cross_picture(None, a_cross(), tmp_path / name, mm_per_cell=None, caption=CAPTION)


@pytest.mark.parametrize("mm_per_cell", [None, 1.0])
@pytest.mark.parametrize("density", [np.zeros(5), np.array([[np.nan]])], ids=str)
def test_a_cross_has_finite_densities(
    tmp_path: Path, density: np.ndarray, mm_per_cell: float | None
) -> None:
    """Densities that are no table, or not finite, are refused, whatever their size."""
    path = tmp_path / "cross.png"
    with pytest.raises(BadInput, match="density"):
        cross_picture(density, a_cross(), path, mm_per_cell=mm_per_cell, caption=CAPTION)
    assert not path.exists()
