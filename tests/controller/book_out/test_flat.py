"""The book as a table and as JSON: what stands in the book, as other programs read it."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import jsonschema
import msgspec
import pytest

from controller.book.book import Book
from controller.book.editions import begin_edition, sign
from controller.book.prints import all_prints, lay_beside, tell_of
from controller.book.tones import keep_tones
from controller.book_out import flat, told
from controller.strips.strip import Strip
from tests.controller.book.histories import now
from tests.controller.imagined_scene import SCENE
from tests.controller.record_sheet.kept import keep_print, keep_strip

KEPT_SCHEMA = Path(told.__file__).with_name("book.schema.json")


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    with Book.open(tmp_path_factory.mktemp("book") / "book.sqlite", now=now) as book:
        keep_strip(book, Strip(base_s=8.0), "a" * 32, "K1")
        odd = SCENE.model_copy(update={"negative": '=1+1, "quoted"\nin two lines'})
        keep_print(book, odd, "b" * 32, "K2", remark="good, but the quay")
        yield book


def lines_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(text, newline=""), strict=True))


def test_a_line_for_each_sheet(book: Book) -> None:
    """A print with what its score says, a strip without; the lines end as RFC 4180 has it."""
    pages = [page for key in ("a" * 32, "b" * 32) if (page := book.record(key))]
    text = flat.sheets_csv(pages)
    strip, made = lines_of(text)
    assert text.count("\r\n") == 3
    assert (strip["mark"], strip["paper"], strip["base_s"]) == ("K1", "", "")
    assert (made["mark"], made["base_s"], made["burns"], made["dodges"]) == ("K2", "16.0", "3", "2")
    assert float(made["given_dose_s"]) == pytest.approx(float(made["planned_dose_s"]), abs=0.01)
    assert made["remarks"] == "good, but the quay"


def test_what_was_told_of_a_print_goes_out(tmp_path: Path) -> None:
    """Rating, edition, remarks and where it went, as a line and as JSON."""
    with Book.open(tmp_path / "book.sqlite", now=now) as book:
        keep_strip(book, Strip(base_s=8.0), "a" * 32, "K1")
        keep_print(book, SCENE, "b" * 32, "K2")
        tell_of(book, "K2", rating=4, went="the framer", dry_note="flat")
        lay_beside(book, "K2", "K1")
        keep_tones(book, "K2", {"sky": 0.35})
        begin_edition(book, "Low tide", 25)
        sign(book, "Low tide", "K2", "3/25")
        pages = [page for key in ("K1", "K2") if (page := book.record(key))]
        strip, made = lines_of(flat.sheets_csv(pages, all_prints(book)))
        out = told.book_out(book)
    assert (made["edition"], made["rating"], made["went_to"]) == (
        "3/25 of Low tide",
        "4",
        "the framer",
    )
    assert (strip["edition"], strip["rating"]) == ("", "")
    (one,) = out.prints
    assert (one.mark, one.strips, one.when_dry) == ("K2", ("a" * 32,), "flat")
    assert [(tone.region, tone.density) for tone in one.densities] == [("sky", 0.35)]
    assert [edition.name for edition in out.editions] == ["Low tide"]
    jsonschema.validate(json.loads(told.to_json(out)), told.schema())


def test_no_cell_is_a_formula(book: Book) -> None:
    """A negative called "=1+1" is a name in a spreadsheet as well; commas and lines survive."""
    page = book.record("K2")
    assert page is not None
    (made,) = lines_of(flat.sheets_csv([page]))
    assert made["negative"] == '\'=1+1, "quoted"\nin two lines'


def test_a_line_for_each_exposure(book: Book) -> None:
    """As it was intended and as it fell."""
    page = book.record("K2")
    assert page is not None
    lines = lines_of(flat.exposures_csv([page]))
    assert [line["label"] for line in lines] == [one.label for one in page.exposures]
    for line, one in zip(lines, page.exposures, strict=True):
        assert float(line["given_dose_s"]) == pytest.approx(one.delivered_dose_s, abs=6e-5)
        assert float(line["on_time_s"]) == pytest.approx(one.pulses[0].on_time_s, abs=1e-6)
        assert line["full"] == "yes"


def test_json_goes_by_its_schema_and_comes_back(book: Book) -> None:
    """What is written fits the schema that is published, and reads back as it was."""
    out = told.book_out(book)
    data = told.to_json(out)
    jsonschema.validate(json.loads(data), told.schema())
    assert msgspec.json.decode(data, type=told.BookOut) == out
    assert [record.kind for record in out.records] == ["strip", "print"]


def test_the_schema_that_is_kept_is_fresh() -> None:
    """`dryside book schema > controller/book_out/book.schema.json` makes it anew."""
    assert json.loads(KEPT_SCHEMA.read_text()) == json.loads(json.dumps(told.schema()))
