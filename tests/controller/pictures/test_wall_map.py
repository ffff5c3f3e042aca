"""The wall map: one page, black and white, with everything on it and nothing over anything."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from controller.errors import BadInput, Refused
from controller.score.doses import print_factor
from controller.score.file import from_tables
from controller.score.model import Score
from controller.score.wall_map import PAPERS, measure, wall_map, write_wall_map
from controller.score.wall_map_layout import lay_out
from controller.score.wall_map_parts import CAP, Area, Side, Words, cut, joined, shrunk, wrapped
from controller.score.wall_map_sketch import Sketch, fitted_sketch
from controller.score.wall_map_words import entries_of, head_of
from tests.controller.imagined_scene import SCENE


def changed(**tables: Any) -> Score:
    """The demonstration with other tables."""
    return from_tables(SCENE.model_dump(mode="json", exclude_defaults=True) | tables, "test")


def portrait(score: Score) -> Score:
    paper = score.paper
    turned = {"width_mm": paper.height_mm, "height_mm": paper.width_mm}
    return score.model_copy(update={"paper": paper.model_copy(update=turned)})


def page_of(score: Score, path: Path, **more: Any) -> PageObject:
    write_wall_map(score, path, **more)
    (page,) = PdfReader(path).pages
    return page


def text_of(page: PageObject) -> str:
    return " ".join(page.extract_text().replace("\u2212", "-").split())


CROWDED_PASSES = [
    {"label": f"pass {n}", "filter": n, "dose": dose, "aperture": aperture}
    for n, dose, aperture in zip(
        ["00", "1", "2", "3", "4", "5"],
        ["+0", "-1/2", "8s", "-1", "+1/3", "4s"],
        ["", "", "11", "", "", ""],
        strict=True,
    )
]
CROWDED = changed(
    title="A title that somebody has thought about for more than a whole afternoon in the rain",
    flash={"dose_s": 1.5},
    passes=CROWDED_PASSES,
    burns=[
        {"regions": ["sky", "cloud"], "amount": "+2/3", "over": "pass 00"},
        {"regions": ["cloud"], "amount": "+1/3", "over": "pass 00"},
        {"regions": ["quay"], "amount": "3s", "over": "pass 5"},
        {"regions": ["rock"], "amount": "+1", "over": "pass 1"},
        {"regions": ["roof", "house"], "amount": "+1/4", "over": "pass 1"},
        {"regions": ["tower"], "amount": "+1/6", "over": "pass 2"},
        {"regions": ["window"], "amount": "2s", "filter": "5"},
        {"regions": ["water"], "amount": "+1 1/2", "over": "pass 00"},
        {"regions": ["elsewhere"], "amount": "+1/2", "over": "pass 3"},
        {"regions": ["door", "house", "roof", "window"], "amount": "1.5s", "over": "pass 4"},
    ],
    dodges=[
        {"regions": [region], "amount": amount, "within": within}
        for region, amount, within in (
            ("door", "1/2", "pass 1"),
            ("rock", "2s", "pass 1"),
            ("house", "1/3", "pass 00"),
            ("roof", "1/3", "pass 00"),
            ("tower", "1/4", "pass 00"),
            ("water", "1s", "pass 5"),
            ("quay", "1/2", "pass 3"),
            ("window", "1/6", "pass 2"),
        )
    ],
)
PLAIN = from_tables({"base_s": 12.7, "passes": [{"label": "print"}]}, "test")
MANY = [
    pytest.param(SCENE, id="harbour"),
    pytest.param(portrait(SCENE), id="portrait"),
    pytest.param(CROWDED, id="crowded"),
    pytest.param(portrait(CROWDED), id="crowded portrait"),
    pytest.param(PLAIN, id="no sketch"),
]

# --- what is on it ----------------------------------------------------------------------------


def test_the_map_says_all_that_makes_the_print(tmp_path: Path):
    """Negative, paper, set-up, passes with their undried figures, dodges with times, burns."""
    text = text_of(page_of(SCENE, tmp_path / "map.pdf"))
    for said in (
        "Harbour, low tide",
        "base 16.0 s",
        "negative T-7, frame 3",
        "paper variable contrast, pearl",
        "batch demo",
        "lens 80 mm",
        "f/8",
        "magnification 3.63",
        "column 47.5",
        "dry-down 8%",
        "14.7 s",  # 16 s less 8 %
        "16.0 s",
        "10.4 s",  # 16 s less half a stop less 8 %
        "11.3 s",
        "filter 00",
        "filter 5",
        "base -1/2",
        "+2/3 over soft",
        "0 to 3.0 s",
        "4.5 to 6.4 s",
        "2.8 s",
        "turned as it lies on the easel",
        "sky",
        "N window",
    ):
        assert said in text, said


@pytest.mark.parametrize("score", MANY)
@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_map_is_one_page_turned_as_the_sheet_is(score: Score, paper: str, tmp_path: Path):
    """A crowded score shrinks instead of going over; a wide sheet has a wide page."""
    page = page_of(score, tmp_path / "map.pdf", paper=paper)
    size = float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4
    wide = score.paper.width_mm > score.paper.height_mm
    assert size == pytest.approx(sorted(PAPERS[paper], reverse=wide), abs=0.01)
    text = text_of(page)
    for entry in entries_of(score):
        assert entry.seconds in text
        assert entry.name.split()[0] in text


def test_a_flash_is_told_apart_from_what_dries_down(tmp_path: Path):
    """The flash comes first, without the negative, and has no undried figure."""
    flash = entries_of(CROWDED)[0]
    assert (flash.name, flash.seconds, flash.undried, flash.fixed) == ("flash", "1.5 s", "", True)
    text = text_of(page_of(CROWDED, tmp_path / "map.pdf"))
    assert "negative out" in text
    assert "but not from the flash" in text


def test_strips_judged_dry_have_nothing_taken_off(tmp_path: Path):
    """The paper's dry-down is not used, and that is said."""
    text = text_of(page_of(changed(judged="dry"), tmp_path / "map.pdf"))
    assert "judged dry: nothing taken off" in text
    assert "undried" not in text


def test_what_is_marked_fixed_stays_when_the_base_changes_and_nothing_else_does():
    """The marks on the map are what a change of the base does."""
    before, after = entries_of(CROWDED), entries_of(CROWDED.model_copy(update={"base_s": 32.0}))
    assert any(one.fixed for one in before)
    for one, other in zip(before, after, strict=True):
        assert (one.seconds == other.seconds) == one.fixed, one.name


def test_a_burn_over_all_passes_is_written_for_each_of_them():
    """Each of its exposures says which pass it is over, and is numbered in order."""
    score = changed(burns=[{"regions": ["sky"], "amount": "+1/2", "over": "all"}])
    written = [(one.number, one.about[-1]) for one in entries_of(score)]
    assert written[2:] == [(3, "+1/2 over soft"), (4, "+1/2 over hard")]


# --- black and white --------------------------------------------------------------------------

COLOURS = {b"rg", b"RG", b"k", b"K", b"cs", b"CS", b"sc", b"SC", b"scn", b"SCN", b"sh", b"gs"}


@pytest.mark.parametrize("score", MANY)
def test_there_is_black_and_white_and_no_colour(score: Score, tmp_path: Path):
    """Neither a colour nor a grey, a shading, a picture or a transparency is in the page."""
    path = tmp_path / "map.pdf"
    page = page_of(score, path)
    assert "/XObject" not in page["/Resources"] or not page["/Resources"]["/XObject"]
    operations = ContentStream(page.get_contents(), PdfReader(path)).operations
    used = {operator for _, operator in operations}
    assert not used & (COLOURS | {b"Do", b"BI", b"INLINE IMAGE"})
    greys = {float(operands[0]) for operands, operator in operations if operator in (b"g", b"G")}
    assert greys <= {0.0, 1.0}
    assert 0.0 in greys


def test_the_file_carries_its_typeface(tmp_path: Path):
    """A bare computer can print it: no font is left to the machine that shows it."""
    page = page_of(SCENE, tmp_path / "map.pdf")
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    written = [font for font in fonts if "/FontDescriptor" in font]
    assert len(written) >= 2
    assert all("/FontFile2" in font["/FontDescriptor"] for font in written)


def test_the_same_score_gives_the_same_bytes(tmp_path: Path):
    """No date and no chance is in the file."""
    first, second = tmp_path / "a.pdf", tmp_path / "b.pdf"
    write_wall_map(SCENE, first)
    write_wall_map(SCENE, second)
    assert first.read_bytes() == second.read_bytes()
    again = "import sys; from tests.controller.imagined_scene import SCENE; "
    again += "from controller.score.wall_map import wall_map, PAPERS; "
    again += "assert 'reportlab' not in sys.modules; "
    again += "sys.stdout.buffer.write(wall_map(SCENE, PAPERS['A4']))"
    other = subprocess.run([sys.executable, "-c", again], capture_output=True, check=True)
    assert other.stdout == first.read_bytes()


def test_letters_that_the_typeface_lacks_are_spelled_or_marked(tmp_path: Path):
    """An accent it does not know falls off, a fraction is spelled, the rest is a question mark."""
    page = page_of(changed(title="Šípek, Łódź ⅓ \u96ea"), tmp_path / "map.pdf")
    assert "Šípek, Łódz 1/3 ?" in text_of(page)


# --- where it is ------------------------------------------------------------------------------


def sketch_of(score: Score, room: Area = Area(10, 40, 150, 130), **more: Any) -> Sketch:
    upright = more.get("upright", False)
    return fitted_sketch(score, room, measure, print_factor(score), upright=upright)


def test_the_sketch_is_turned_by_half_a_circle_unless_it_is_to_be_upright():
    """What is up and left in the print is down and right on the easel; the words stay upright."""
    place = {}
    for upright in (True, False):
        words = {one.text: one for one in sketch_of(SCENE, upright=upright).labels}
        place[upright] = {name: (words[name].x, words[name].y) for name in ("roof", "quay")}
    area = sketch_of(SCENE).area
    middle = area.x + area.width / 2, area.y + area.height / 2
    assert place[True]["quay"][1] > middle[1] > place[False]["quay"][1]
    assert place[True]["roof"][0] < middle[0] < place[False]["roof"][0]


def test_a_region_has_its_name_and_its_handwork_where_it_lies():
    """Amounts in stops as they are written, in seconds as they are given; the pass beside."""
    labels = " ".join(one.text for one in sketch_of(SCENE).labels)
    assert "sky +2/3 soft" in labels
    assert "cloud +2/3 soft +1/3 soft" in labels
    assert "quay +2.8 s hard" in labels
    assert "\u22121/2" in labels


def test_burned_regions_are_hatched_and_dodged_ones_dashed():
    """Twice where two burns overlap; the marks cover the region's cells and no others."""
    sketch = sketch_of(SCENE)
    cell = sketch.area.width / 16 * sketch.area.height / 12
    counts = [(round(sum(a.width * a.height for a in one.areas) / cell)) for one in sketch.burned]
    cells = "".join(SCENE.sketch)
    assert counts == [cells.count(letter) for letter in "SCQ"]
    assert [one.twice for one in sketch.burned] == [False, True, False]
    dashed = [round(sum(a.width * a.height for a in areas) / cell) for areas in sketch.dodged]
    assert dashed == [cells.count("D"), cells.count("R")]


def test_borders_run_where_regions_meet():
    """Two cells side by side have one line between them, a third like the second has none."""
    score = from_tables(
        {
            "base_s": 8,
            "passes": [{"label": "print"}],
            "sketch": ["ABB"],
            "regions": {"A": "a", "B": "b"},
        },
        "test",
    )
    sketch = sketch_of(score, upright=True)
    (border,) = sketch.borders
    assert border.x0 == border.x1 == pytest.approx(sketch.area.x + sketch.area.width / 3)
    assert border.y1 - border.y0 == pytest.approx(sketch.area.height)


names = st.text("abcdefg hi", min_size=1, max_size=30).map(str.strip).filter(bool)
amounts = st.sampled_from(["+1/3", "+1", "0.7s", "+1 5/12", "2s", "+1/12"])


@st.composite
def scores(draw: st.DrawFn) -> Score:
    passes = draw(st.lists(names.filter(lambda n: n != "all"), min_size=1, max_size=6, unique=True))
    called = draw(st.lists(names, min_size=1, max_size=6, unique=True))
    letters = "ABCDEF"[: len(called)]
    width = draw(st.integers(1, 12))
    cells = st.text(letters + ".", min_size=width, max_size=width)
    sketch = [*draw(st.lists(cells, max_size=10)), *(letter * width for letter in letters)]
    regions = st.lists(st.sampled_from(called), min_size=1, max_size=3, unique=True)
    over = st.sampled_from(passes)
    burns = st.fixed_dictionaries({"regions": regions, "amount": amounts, "over": over})
    held = st.sampled_from(["1/12", "1/2", "0.7s"])
    dodges = st.fixed_dictionaries({"regions": regions, "amount": held, "within": over})
    return from_tables(
        {
            "title": draw(st.text("ab cde", max_size=90)),
            "base_s": draw(st.floats(1, 400)),
            "passes": [{"label": label, "filter": draw(names)} for label in passes],
            "burns": draw(st.lists(burns, max_size=10)),
            "dodges": draw(st.lists(dodges, max_size=6, unique_by=lambda one: one["within"])),
            "sketch": sketch,
            "regions": dict(zip(letters, called, strict=True)),
            "paper": {
                "width_mm": draw(st.floats(60, 600)),
                "height_mm": draw(st.floats(60, 600)),
                "dry_down": draw(st.sampled_from(["", "8%"])),
                "name": draw(st.text("ab ", max_size=200)),
            },
        },
        "test",
    )


def box(words: Words) -> tuple[float, float, float, float]:
    width = measure(words.text, words.size, words.bold)
    left = words.x - {Side.LEFT: 0.0, Side.MIDDLE: width / 2, Side.RIGHT: width}[words.side]
    return left, words.y - CAP * words.size, left + width, words.y


@settings(max_examples=20, deadline=None)
@given(scores(), st.sampled_from(list(PAPERS.values())))
def test_nothing_lies_over_anything_or_off_the_page(score: Score, paper: tuple[float, float]):
    """Whatever is written, every word is on the page and clear of every other."""
    sheet = score.paper.width_mm, score.paper.height_mm
    size = tuple(sorted(paper, reverse=sheet[0] > sheet[1]))
    page = lay_out(head_of(score), entries_of(score), measure, size=size, sheet=sheet)
    assert page.sketch is not None
    sketch = fitted_sketch(score, page.sketch, measure, 1.0, upright=False)
    written = [*page.block.words, *sketch.notes]
    for words in written:
        left, top, right, bottom = box(words)
        assert 4 <= left <= right <= size[0] - 4, words
        assert 4 <= top <= bottom <= size[1] - 4, words
    for one, other in combinations(written, 2):
        a, b = box(one), box(other)
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] + 0.01 or b[3] <= a[1] + 0.01
        assert apart, (one, other)


# --- fitting texts ----------------------------------------------------------------------------


def even(text: str, size: float, bold: bool) -> float:
    """A typeface in which every character is as wide as high."""
    return size * len(text)


def test_texts_are_broken_between_words_and_then_within_them():
    """Nothing is lost and no line is too wide."""
    lines = wrapped("a bee seed eeeeeeeee", 1, 4, even, bold=False)
    assert lines == ["a", "bee", "seed", "eeee", "eeee", "e"]
    assert joined(["aa", "b", "cccccccc"], 1, 8, even) == ["aa  \u00b7  b", "cccccccc"]
    assert cut("abcdefgh", 1, 6, even, bold=False) == "abc..."


def test_a_name_shrinks_before_it_is_broken():
    """As little as is needed for one line; further only for the sake of a whole word."""
    assert shrunk("abcd", 1, 4, even) == 1
    assert shrunk("abcd", 1, 3.5, even) == pytest.approx(3.5 / 4, abs=0.01)
    assert shrunk("ab cd ef", 1, 4, even) == 0.72
    assert shrunk("abcdefgh", 1, 4.4, even) == pytest.approx(0.55, abs=0.01)


# --- what cannot be ---------------------------------------------------------------------------


def test_a_map_that_cannot_be_written_is_one_sentence(tmp_path: Path):
    """A wrong name, a missing folder and an unknown paper are each told with what is right."""
    with pytest.raises(BadInput, match=r"ends in \.pdf"):
        write_wall_map(SCENE, tmp_path / "map.png")
    with pytest.raises(BadInput, match="a folder that exists"):
        write_wall_map(SCENE, tmp_path / "nowhere" / "map.pdf")
    with pytest.raises(BadInput, match="A4 or letter"):
        write_wall_map(SCENE, tmp_path / "map.pdf", paper="A9")  # type: ignore[arg-type]
    assert list(tmp_path.iterdir()) == []


def test_more_than_a_page_can_hold_is_refused():
    """There is an end to shrinking."""
    burns = [{"regions": ["sky"], "amount": "+1/2", "over": "all"}] * 2000
    with pytest.raises(Refused, match="4002 exposures"):
        wall_map(changed(burns=burns), PAPERS["A4"])
