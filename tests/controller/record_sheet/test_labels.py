"""Labels and the list of a box: every one in its place, and in its own words."""

from __future__ import annotations

from io import BytesIO

import msgspec
import pytest
from pypdf import PdfReader

from controller.errors import BadInput
from controller.record_sheet.box import box_pdf
from controller.record_sheet.ink import Qr, Words
from controller.record_sheet.labels import (
    Grid,
    back_label,
    grid_of,
    labels_pdf,
    short_exposures,
    sleeve_label,
)
from controller.record_sheet.model import NEGATIVE, Facts
from controller.score.model import Score
from tests.controller.imagined_scene import SCENE
from tests.controller.record_sheet.test_page import BARE, CROWDED, box, sheet_of


@pytest.mark.parametrize("grid", [Grid(), Grid(3, 8), Grid(1, 4), Grid(3, 9)])
@pytest.mark.parametrize("score", [SCENE, BARE, CROWDED])
def test_a_label_stays_within_its_edges(score: Score, grid: Grid) -> None:
    """Whatever is written, words and code keep 1.5 mm from where the label is cut."""
    wide, high = 210 / grid.columns, 297 / grid.rows
    for make in (back_label, sleeve_label):
        label = make(sheet_of(score, sheets=2), wide, high)
        for mark in label.marks:
            if isinstance(mark, Words):
                left, top, right, bottom = box(mark)
                assert 1.5 <= left <= right <= wide - 1.5, mark
                assert 1.5 <= top <= bottom <= high - 1.5, mark
            elif isinstance(mark, Qr):
                assert mark.area.width > 14, "a telephone reads no smaller code"


def test_a_label_tells_which_sheet_it_is_and_how_it_was_made() -> None:
    """Passes in seconds, how much handwork, and the sheet's place among the good ones."""
    sheet = sheet_of(SCENE, sheets=3, mark="K2")
    words = " ".join(w.text for w in back_label(sheet, 105, 42).marks if isinstance(w, Words))
    assert "sheet 2 of 3" in words
    assert short_exposures(sheet) == "soft (00) 14.7 s, hard (5) 10.4 s, 3 burns, 2 dodges"


def test_a_signed_print_keeps_its_negative_on_both_labels() -> None:
    """The number of the edition takes no other word's place."""
    signed = msgspec.structs.replace(
        sheet_of(SCENE), under_title=("3/25", "negative T-7, frame 3"), number="3/25"
    )
    for make in (back_label, sleeve_label):
        words = [w.text for w in make(signed, 105, 42).marks if isinstance(w, Words)]
        assert any("egative T-7, frame 3" in text for text in words), words
    assert sum("3/25" in text for text in words) == 0, "a sleeve is of the negative"


def test_a_sleeve_s_label_tells_of_its_negative() -> None:
    """Film, format, when it was exposed and where it lies, as the book has them."""
    known = Facts(NEGATIVE, ("ISO 400, 35 mm", "exposed 2024-05-17", "sleeve binder 2"))
    sheet = msgspec.structs.replace(sheet_of(SCENE), facts=(known,))
    words = " ".join(w.text for w in sleeve_label(sheet, 105, 42).marks if isinstance(w, Words))
    assert "ISO 400, 35 mm, exposed 2024-05-17, sleeve binder 2" in words


def test_a_print_without_a_negative_has_no_label_for_a_sleeve() -> None:
    """There is nothing to stick it on: of two prints three labels come out."""
    bare = sheet_of(BARE)
    assert bare.title == "Untitled"
    (page,) = PdfReader(BytesIO(labels_pdf([bare, sheet_of(SCENE)]))).pages
    text = page.extract_text()
    assert text.count("Negative") == 1
    assert text.count("Untitled") == 1


def test_what_was_not_given_is_on_no_label() -> None:
    """A sheet that was abandoned after its first pass tells that pass alone."""
    sheet = sheet_of(SCENE)
    first, *rest = sheet.steps
    cut = (first, *(msgspec.structs.replace(step, given_s=0.0) for step in rest))
    assert short_exposures(msgspec.structs.replace(sheet, steps=cut)) == "soft (00) 14.7 s"


def test_labels_begin_after_those_that_were_used() -> None:
    """Thirteen used of fourteen, two labels: one on each of two pages."""
    data = labels_pdf([sheet_of(SCENE)], skip=13)
    pages = [page.extract_text() for page in PdfReader(BytesIO(data)).pages]
    assert len(pages) == 2
    assert "Harbour" in pages[0]
    assert "T-7, frame 3" in pages[1]


@pytest.mark.parametrize("text", ["", "2", "0x4", "4x4", "2x10", "2*7"])
def test_a_grid_that_is_none_is_refused(text: str) -> None:
    """In one sentence with an example."""
    with pytest.raises(BadInput, match="such as 2x7"):
        grid_of(text)


def test_places_that_a_page_does_not_have_are_refused() -> None:
    """More used labels than a page has are a slip."""
    with pytest.raises(BadInput, match="0 to 13"):
        labels_pdf([sheet_of(SCENE)], skip=14)


def test_a_box_has_every_print_once() -> None:
    """Forty-five prints are three pages; each mark is there, and the facts on every page."""
    sheets = [sheet_of(SCENE if n % 2 else BARE, sheets=45, mark=f"K{n}") for n in range(1, 46)]
    pages = PdfReader(BytesIO(box_pdf("Box 7", ["pearl", "45 sheets"], sheets))).pages
    texts = [page.extract_text().split() for page in pages]
    assert len(pages) == 3
    assert sorted(w for text in texts for w in text if w.startswith("K")) == sorted(
        f"K{n}" for n in range(1, 46)
    )
    assert all("pearl" in text for text in texts)
