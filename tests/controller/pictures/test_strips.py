"""Pictures of strips: to scale, in the right tones, with every word whole."""

import subprocess
import sys
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from controller.errors import BadInput
from controller.pictures import ink as picture_ink
from controller.pictures.strip_layout import Layout, Text, lay_out, spread, wrapped
from controller.pictures.strips import (
    Axis,
    Caption,
    PatchLabel,
    developed,
    reflectance,
    srgb,
    strip_map,
)
from controller.stops import series

GROUND = 88  # of the bench
CAPTION = Caption("Test strip", mark="K7", way="card", note="laid over the sky")


def labels(n: int, length_mm: float, *, density: float | None = None) -> list[PatchLabel]:
    each = length_mm / n
    totals = series(8, Fraction(1, 3), n)
    return [
        PatchLabel("ABCDEFGHIJKLMN"[k], t, Fraction(k, 3), k * each, (k + 1) * each, density)
        for k, t in enumerate(totals)
    ]


def imagined_width(text: str, size: float) -> float:
    """A wide typeface, wider than the real one."""
    return 0.62 * size * len(text)


def overlap(a: Text, b: Text) -> bool:
    slack = 1e-6
    across = a.x + a.width - slack > b.x and b.x + b.width - slack > a.x
    return across and a.y + a.height - slack > b.y and b.y + b.height - slack > a.y


def grey(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image)


# --- layout -----------------------------------------------------------------------------------

words = st.text("abcdefgh ijklmnop", max_size=200)


@st.composite
def layouts(draw: st.DrawFn) -> tuple[Layout, bool]:
    axis = draw(st.sampled_from(Axis))
    width_mm, height_mm = draw(st.floats(12, 310)), draw(st.floats(12, 310))
    length_mm = width_mm if axis is Axis.HORIZONTAL else height_mm
    cuts = draw(st.lists(st.floats(0.02, 0.98), min_size=0, max_size=14, unique=True))
    edges = [0.0, *sorted(cuts), 1.0]
    patches = [
        PatchLabel(
            draw(st.sampled_from(["A", "W", "B (unsure)", "AB"])),
            draw(st.floats(0.3, 5000)),
            draw(st.sampled_from([Fraction(0), Fraction(-7, 6), Fraction(133, 12), 0.37])),
            a * length_mm,
            b * length_mm,
            draw(st.none() | st.floats(0, 2.3)),
        )
        for a, b in pairwise(edges)
    ]
    if draw(st.booleans()):
        patches.reverse()
    inside = draw(st.booleans())
    layout = lay_out(
        patches,
        width_mm=width_mm,
        height_mm=height_mm,
        axis=axis,
        caption=Caption(
            draw(words), draw(st.sampled_from(["", "K7", "K" * 40])), "window", draw(words)
        ),
        measure=imagined_width,
        letters_inside=inside,
    )
    return layout, inside


@given(layouts())
@settings(max_examples=200, deadline=None)
def test_no_two_words_touch_and_none_is_cut(made: tuple[Layout, bool]) -> None:
    """Whatever the patches and the words, texts lie apart and inside the picture."""
    layout, _ = made
    for i, text in enumerate(layout.texts):
        assert text.x >= 0
        assert text.y >= 0
        assert text.x + text.width <= layout.width + 1e-6
        assert text.y + text.height <= layout.height + 1e-6
        for other in layout.texts[i + 1 :]:
            assert not overlap(text, other), (text, other)


@given(layouts())
@settings(max_examples=100, deadline=None)
def test_words_stay_off_the_paper(made: tuple[Layout, bool]) -> None:
    """Nothing is written on the developed paper, and only letters on the map's."""
    layout, inside = made
    left, top, right, bottom = layout.paper
    paper = Text("", (bottom - top) / 1.25, left, top, right - left)
    on_paper = [text.text for text in layout.texts if overlap(text, paper)]
    assert set(on_paper) <= ({"A", "W", "B (unsure)", "AB"} if inside else set())


def test_patches_too_narrow_for_letters_have_them_beside() -> None:
    """Patches that are next to nothing wide are lettered beside the paper, as all others are."""
    edges = [0.0, 20.0, 20.0, 20.0, 40.0]
    layout = lay_out(
        [PatchLabel(k, 8, 0, a, b) for k, (a, b) in zip("ABCD", pairwise(edges), strict=True)],
        width_mm=40,
        height_mm=25,
        axis=Axis.HORIZONTAL,
        caption=CAPTION,
        measure=imagined_width,
        letters_inside=True,
    )
    assert {
        text.text: text.y > layout.paper[3] for text in layout.texts if text.text in "ABCD"
    } == dict.fromkeys("ABCD", True)


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.1, 30)), min_size=1, max_size=14))
def test_labels_are_spread_without_touching(labels_: list[tuple[float, float]]) -> None:
    """Labels keep their order and their distance, and stay in place where there is room."""
    wanted = sorted(want for want, _ in labels_)
    sizes = [size for _, size in labels_]
    placed = spread(wanted, sizes, 1.0)
    for k in range(len(placed) - 1):
        assert placed[k + 1] - placed[k] >= (sizes[k] + sizes[k + 1]) / 2 + 1.0 - 1e-6
    assert sum(placed) == pytest.approx(sum(wanted), abs=1e-6)
    apart = [40.0 * k for k in range(len(sizes))]
    assert spread(apart, sizes, 1.0) == pytest.approx(apart)


@given(words, st.floats(5, 60))
def test_wrapping_loses_no_letter(text: str, width: float) -> None:
    """A broken text has all its letters in order, and no line is too wide."""
    lines = wrapped(text, 3.0, width, imagined_width)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(imagined_width(line, 3.0) <= width for line in lines)


# --- tones ------------------------------------------------------------------------------------


def test_density_is_reflectance() -> None:
    """A density of 0.300 reflects 50.12 % (arithmetic), and less than none counts as none."""
    values = reflectance(np.array([0.0, 0.3, 1.0, 2.1, -0.5]))
    assert values == pytest.approx([1.0, 0.5012, 0.1, 0.00794, 1.0], abs=5e-5)


def test_the_screen_tones_of_known_greys() -> None:
    """Half the light is 188, 18 % is 118, a tenth is 89 (IEC 61966-2-1, from memory of it)."""
    tones = np.rint(255 * srgb(np.array([0.0, 0.1, 0.18, 0.5, 1.0])))
    assert tones.tolist() == [0, 89, 118, 188, 255]


def test_the_two_branches_of_the_screen_curve_meet() -> None:
    """The curve has no step where its straight part ends."""
    below, above = srgb(np.array([0.0031308, 0.0031309]))
    assert above - below == pytest.approx(0, abs=1e-5)
    assert above >= below


@pytest.mark.parametrize("axis", list(Axis))
def test_each_patch_has_its_tone(tmp_path: Path, axis: Axis) -> None:
    """In the middle of each patch the picture has the tone of its density."""
    densities = [0.0, 0.3, 0.745, 1.0, 2.1]
    tones = [255, 188, 118, 89, 22]
    cells = np.repeat(np.array(densities), 20)[np.newaxis, :].repeat(25, axis=0)
    if axis is Axis.VERTICAL:
        cells = cells.T
    path = tmp_path / "strip.png"
    developed(cells, labels(5, 100), path, mm_per_cell=1, axis=axis, caption=CAPTION)
    image = grey(path)
    if axis is Axis.VERTICAL:
        image = image.T
    row = next(r for r in image if np.count_nonzero(r == 255) > 100)  # the first line of paper
    left = int(np.argmax(row == 255))
    got = [int(row[left + 80 + 160 * k]) for k in range(5)]
    assert got == pytest.approx(tones, abs=1)


def test_paper_is_to_scale(tmp_path: Path) -> None:
    """White paper of 90 x 30 mm is 720 x 240 pixels, at the resolution that the file states."""
    path = tmp_path / "strip.png"
    developed(
        np.zeros((30, 45)),
        labels(3, 90),
        path,
        mm_per_cell=(2, 1),
        axis=Axis.HORIZONTAL,
        caption=CAPTION,
    )
    image = grey(path)
    white = image == 255
    assert np.count_nonzero(white.sum(axis=1) >= 720) == 240
    assert white.sum(axis=1).max() == 720
    with Image.open(path) as picture:
        assert picture.info["dpi"] == pytest.approx((203.2, 203.2), abs=0.01)
        assert picture.mode == "L"


# --- pictures ---------------------------------------------------------------------------------


@pytest.mark.parametrize("n", [1, 3, 5, 7, 12])
@pytest.mark.parametrize(
    ("width_mm", "height_mm", "axis"),
    [
        (203, 25, Axis.HORIZONTAL),
        (25, 203, Axis.VERTICAL),
        (50, 20, Axis.HORIZONTAL),
        (20, 50, Axis.VERTICAL),
        (254, 203, Axis.HORIZONTAL),
    ],
)
def test_nothing_reaches_the_picture_s_edge(
    tmp_path: Path, n: int, width_mm: float, height_mm: float, axis: Axis
) -> None:
    """Around every picture a margin stays empty, so no word is cut off."""
    patches = labels(n, width_mm if axis is Axis.HORIZONTAL else height_mm, density=1.23)
    path = tmp_path / "picture.png"
    density = np.full((round(height_mm / 5), round(width_mm / 5)), 0.7)
    cell = (width_mm / density.shape[1], height_mm / density.shape[0])
    developed(density, patches, path, mm_per_cell=cell, axis=axis, caption=CAPTION, px_per_mm=4)
    bench = grey(path)
    strip_map(
        patches,
        path,
        width_mm=width_mm,
        height_mm=height_mm,
        axis=axis,
        caption=CAPTION,
        px_per_mm=4,
    )
    for image, ground in ((bench, GROUND), (grey(path), 255)):
        inside = image[20:-20, 20:-20]
        assert (image == ground).sum() - (inside == ground).sum() == image.size - inside.size
        assert (inside != ground).any()


@pytest.mark.parametrize("size", [2.0, 3.2, 5.0, 14.0])
def test_real_words_fit_their_places(size: float) -> None:
    """Ink of the real typeface stays in the place that the layout gave it."""
    words_ = "Kgj(|)D +1/3"
    text = Text(words_, size, 10, 10, picture_ink.font(size, 8).getlength(words_) / 8)
    layout = Layout(text.width + 20, text.height + 20, (0, 0, 1, 1), (text,), ())
    image = picture_ink.canvas(layout, 8, picture_ink.PRINT)
    picture_ink.write_words(image, layout, 8, picture_ink.PRINT)
    rows, columns = np.nonzero(np.asarray(image) < 255)
    assert rows.min() >= 80
    assert rows.max() <= 80 + text.height * 8
    assert columns.min() >= 79
    assert columns.max() <= 81 + text.width * 8


def test_a_map_invents_no_tone(tmp_path: Path) -> None:
    """The map shows the same, whatever density its patches have got, but for the words."""
    path = tmp_path / "map.png"
    kept = {}
    for density in (0.1, 2.1):
        strip_map(
            labels(5, 203, density=density),
            path,
            width_mm=203,
            height_mm=25,
            axis=Axis.HORIZONTAL,
            caption=CAPTION,
        )
        kept[density] = grey(path)
    paper = slice(150, 350)
    assert (kept[0.1][paper] == kept[2.1][paper]).all()
    assert (kept[0.1] == 255).mean() > 0.9


def test_letters_stand_as_the_patches_lie(tmp_path: Path) -> None:
    """A strip begun at the right says so, and has its last letter at the left."""
    patches = labels(3, 90)
    turned = [
        PatchLabel(p.letter, p.dose_s, p.stops, 90 - p.to_mm, 90 - p.from_mm) for p in patches
    ]
    for given_, edge, order in ((patches, "left", "ABC"), (turned, "right", "CBA")):
        layout = lay_out(
            given_,
            width_mm=90,
            height_mm=25,
            axis=Axis.HORIZONTAL,
            caption=CAPTION,
            measure=imagined_width,
            letters_inside=True,
        )
        letters = sorted((t for t in layout.texts if t.text in set("ABC")), key=lambda t: t.x)
        assert "".join(t.text for t in letters) == order
        assert any(f"A at the {edge}" in t.text for t in layout.texts)


def test_words_beyond_the_typeface_are_spelled_plainly(tmp_path: Path) -> None:
    """Accents and signs that the typeface lacks do not leave boxes or errors."""
    plain, fancy = tmp_path / "plain.png", tmp_path / "fancy.png"
    captions = {
        plain: Caption("Etude 8x10 - 1/2"),
        fancy: Caption("Étude\n8\N{MULTIPLICATION SIGN}10 \N{EN DASH} ½"),
    }
    for path, caption in captions.items():
        strip_map(
            labels(2, 50), path, width_mm=50, height_mm=20, axis=Axis.HORIZONTAL, caption=caption
        )
    assert plain.read_bytes() == fancy.read_bytes()


# --- refusals ---------------------------------------------------------------------------------


def draw_map(path: Path, patches: list[PatchLabel] | None = None, **sizes: float) -> None:
    strip_map(
        labels(3, 60) if patches is None else patches,
        path,
        width_mm=sizes.get("width_mm", 60),
        height_mm=sizes.get("height_mm", 20),
        axis=Axis.HORIZONTAL,
        caption=CAPTION,
        px_per_mm=sizes.get("px_per_mm", 4),
    )


@pytest.mark.parametrize(
    "name", ["nowhere/strip.png", "folder.png", "file.txt/strip.png", "a\0.png"]
)
def test_a_path_that_cannot_be_written_is_bad_input(tmp_path: Path, name: str) -> None:
    """A folder that is missing, a folder by that name, no folder at all: one sentence each."""
    (tmp_path / "folder.png").mkdir()
    (tmp_path / "file.txt").write_text("")
    with pytest.raises(BadInput, match="cannot be written"):
        draw_map(tmp_path / name)


def test_a_picture_is_a_png(tmp_path: Path) -> None:
    """A name that promises something other than a PNG is refused."""
    with pytest.raises(BadInput, match=r"ends in \.png"):
        draw_map(tmp_path / "strip.jpg")


@pytest.mark.parametrize(
    "patches",
    [
        [],
        [PatchLabel("A", 8, 0, 10, 10)],
        [PatchLabel("A", 8, 0, -5, 10)],
        [PatchLabel("A", 8, 0, 50, 61)],
        [PatchLabel("A", 8, 0, float("nan"), 10)],
    ],
)
def test_patches_lie_on_the_paper(tmp_path: Path, patches: list[PatchLabel]) -> None:
    """Patches that are none or lie beside the paper are refused."""
    with pytest.raises(BadInput, match="picture"):
        draw_map(tmp_path / "strip.png", patches)


@pytest.mark.parametrize(
    "sizes", [{"width_mm": 0.0}, {"height_mm": float("nan")}, {"px_per_mm": 2000.0}], ids=str
)
def test_paper_has_a_size_that_can_be_drawn(tmp_path: Path, sizes: dict[str, float]) -> None:
    """Paper without a size, and pictures beyond all memory, are refused."""
    with pytest.raises(BadInput, match="picture"):
        draw_map(tmp_path / "strip.png", **sizes)


@pytest.mark.parametrize(
    "density", [np.zeros(5), np.zeros((0, 5)), np.array([[np.nan]]), np.array([[np.inf]])], ids=str
)
def test_densities_are_a_table_of_numbers(tmp_path: Path, density: np.ndarray) -> None:
    """Densities that are no table, or not finite, are refused."""
    with pytest.raises(BadInput, match="density"):
        developed(
            density,
            labels(1, 1),
            tmp_path / "strip.png",
            mm_per_cell=1,
            axis=Axis.HORIZONTAL,
            caption=CAPTION,
        )


def test_importing_pictures_loads_nothing_heavy() -> None:
    """Neither Pillow nor numpy is loaded before a picture is made."""
    code = (
        "import sys, controller.pictures.strips, controller.stops;"
        "sys.exit(any(m in sys.modules for m in ('PIL', 'numpy')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
