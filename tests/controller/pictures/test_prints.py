"""Pictures of prints: on their mount with every word, and the pieces of a dry-down test."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.pictures.ink import MOUNT
from controller.pictures.page import Caption, Text
from controller.pictures.prints import (
    dry_down_picture,
    lay_out_pieces,
    lay_out_print,
    print_picture,
)
from tests.controller.pictures.test_strips import grey, imagined_width, overlap, words

PASSES = ("soft, filter 00: 11.0 s", "hard, filter 5: 7.4 s", "burn sky, filter 00: 5.5 s")
CAPTION = Caption("Harbour", "K9", "paper A", "judged wet", PASSES)
captions = st.builds(
    Caption,
    title=words,
    mark=st.sampled_from(["", "K7", "K" * 40]),
    note=words,
    lines=st.lists(words, max_size=12).map(tuple),
)


def require_apart(texts: list[Text], width: float, height: float) -> None:
    for i, text in enumerate(texts):
        assert text.x >= -1e-6
        assert text.y >= -1e-6
        assert text.x + text.width <= width + 1e-6
        assert text.y + text.height <= height + 1e-6
        assert not [other.text for other in texts[i + 1 :] if overlap(text, other)]


# --- the print --------------------------------------------------------------------------------


@given(st.floats(10, 510), st.floats(10, 510), st.floats(0, 80), captions)
@settings(max_examples=100, deadline=None)
def test_words_of_a_print_stand_beneath_it(
    width_mm: float, height_mm: float, border_mm: float, caption: Caption
) -> None:
    """Whatever the print and its words, they lie beneath it, apart, whole, within the card."""
    layout = lay_out_print(
        width_mm=width_mm,
        height_mm=height_mm,
        border_mm=border_mm,
        caption=caption,
        measure=imagined_width,
    )
    left, top, right, bottom = layout.paper
    assert left >= border_mm - 1e-6
    assert right <= layout.width - border_mm + 1e-6
    assert (top, bottom) == (border_mm, border_mm + height_mm)
    assert all(text.y > bottom for text in layout.texts)
    require_apart(list(layout.texts), layout.width, layout.height)


def test_each_pass_has_a_line_of_its_own() -> None:
    """The passes are written one below the other, in order, below title and note."""
    layout = lay_out_print(
        width_mm=254, height_mm=203, border_mm=25, caption=CAPTION, measure=imagined_width
    )
    found = {text.text: text.y for text in layout.texts}
    ys = [found[words_] for words_ in ("Harbour", "judged wet", *PASSES)]
    assert ys == sorted(set(ys))


def test_a_print_has_its_tones_and_its_border(tmp_path: Path) -> None:
    """White card of the asked width lies around the print, whose tones are those of its paper."""
    density = np.array([[0.0, 0.3], [0.745, 1.0]]).repeat(60, axis=0).repeat(80, axis=1)
    path = tmp_path / "print.png"
    print_picture(density, path, mm_per_cell=1, caption=CAPTION, border_mm=20, px_per_mm=4)
    image = grey(path)
    assert image.shape[1] == (160 + 40) * 4
    assert (image[:60, :] == MOUNT.ground).all()  # the shadow is not wide
    assert (image[:, :60] == MOUNT.ground).all()
    got = [[int(image[80 + y, 80 + x]) for x in (160, 480)] for y in (120, 360)]
    assert got == [[255, 188], [118, 89]]
    assert MOUNT.ground < 255  # white paper is told from its card


def test_a_darker_print_looks_darker(tmp_path: Path) -> None:
    """A print with half a density more everywhere is darker at every place of the paper."""
    images = []
    for more in (0.0, 0.5):
        path = tmp_path / f"{more}.png"
        print_picture(
            np.linspace(0, 1.5, 120)[None, :].repeat(90, 0) + more,
            path,
            mm_per_cell=1,
            caption=CAPTION,
            px_per_mm=4,
        )
        images.append(grey(path)[100:460, 100:580].astype(int))
    assert (images[1] < images[0]).all()


@pytest.mark.parametrize("border_mm", [-1.0, float("nan"), float("inf")])
def test_a_border_is_a_width(tmp_path: Path, border_mm: float) -> None:
    """A border of less than nothing, or of no number, is refused."""
    with pytest.raises(BadInput, match="border"):
        print_picture(
            np.ones((9, 9)), tmp_path / "p.png", mm_per_cell=9, caption=CAPTION, border_mm=border_mm
        )


@pytest.mark.parametrize("name", ["nowhere/print.png", "print.jpg"])
def test_a_print_is_not_drawn_just_anywhere(tmp_path: Path, name: str) -> None:
    """A folder that is missing and a name that is no PNG's are refused."""
    with pytest.raises(BadInput, match=name):
        print_picture(np.ones((9, 9)), tmp_path / name, mm_per_cell=9, caption=CAPTION)
    with pytest.raises(BadInput, match=name):
        dry_down_picture(
            [("wet", np.ones((9, 9)))], tmp_path / name, mm_per_cell=9, caption=CAPTION
        )


# --- the pieces of a dry-down test ------------------------------------------------------------


@given(
    st.lists(st.tuples(words, st.floats(10, 130), st.floats(10, 130)), min_size=1, max_size=21),
    captions,
)
@settings(max_examples=60, deadline=None)
def test_pieces_lie_apart_with_their_labels(
    pieces: list[tuple[str, float, float]], caption: Caption
) -> None:
    """However many pieces of whatever sizes and words, nothing lies on anything else."""
    layout, corners = lay_out_pieces(
        [label for label, _, _ in pieces],
        [(width, height) for _, width, height in pieces],
        caption=caption,
        measure=imagined_width,
    )
    boxes = [
        Text("piece", height / 1.25, x, y, width)
        for (x, y), (_, width, height) in zip(corners, pieces, strict=True)
    ]
    require_apart([*layout.texts, *boxes], layout.width, layout.height)


def test_pieces_come_in_order_with_what_each_got_less() -> None:
    """Seven pieces lie in one row, in order, each over its label."""
    labels = ["wet", *(f"{p} % less" for p in (4, 6, 8, 10, 12, 14))]
    layout, corners = lay_out_pieces(
        labels, [(60.0, 50.0)] * 7, caption=CAPTION, measure=imagined_width
    )
    assert len({y for _, y in corners}) == 1
    middles = [x + 30 for x, _ in corners]
    assert middles == sorted(middles)
    found = {text.text: text for text in layout.texts}
    for label, at in zip(labels, middles, strict=True):
        assert found[label].x + found[label].width / 2 == pytest.approx(at)
        assert found[label].y > corners[0][1] + 50


def test_each_piece_has_its_tone(tmp_path: Path) -> None:
    """Pieces are drawn at the places of the layout, each in its own tone."""
    path = tmp_path / "pieces.png"
    densities = (0.745, 0.3, 0.0)
    pieces = [(f"{d:g}", np.full((40, 40), d)) for d in densities]
    dry_down_picture(pieces, path, mm_per_cell=1, caption=CAPTION, px_per_mm=4)
    image = grey(path)
    row = next(line for line in image if np.count_nonzero(line == 255) >= 160)
    got = [int(row[(9 + 20 + k * 44) * 4]) for k in range(3)]
    assert got == [118, 188, 255]


def test_no_pieces_are_no_picture(tmp_path: Path) -> None:
    """A dry-down test without pieces is refused, and so are densities that are none."""
    with pytest.raises(BadInput, match="no pieces"):
        dry_down_picture([], tmp_path / "d.png", mm_per_cell=1, caption=CAPTION)
    with pytest.raises(BadInput, match="density"):
        dry_down_picture(
            [("wet", np.zeros((0, 3)))], tmp_path / "d.png", mm_per_cell=1, caption=CAPTION
        )


def test_pictures_that_no_memory_holds_are_refused(tmp_path: Path) -> None:
    """A print of a hundred metres is refused in a sentence."""
    with pytest.raises(BadInput, match="too large"):
        print_picture(np.ones((10, 10)), tmp_path / "p.png", mm_per_cell=10_000, caption=CAPTION)
