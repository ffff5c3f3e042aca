"""Old notes: read by a mapping, every bad line named, and kept once."""

from __future__ import annotations

from datetime import date
from itertools import takewhile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.book.book import Book
from controller.book_out.mapping import Mapping, day, mapping_of, number, seconds, size_mm
from controller.book_out.merging import merge
from controller.book_out.notes import decoded, read_notes, rows_of
from controller.errors import BadInput
from controller.record_sheet.gather import print_sheet
from controller.score.again import score_of_record
from tests.controller.book.histories import now

TODAY = date(2026, 1, 1)
MAP = """
[file]
delimiter = ";"
decimal = ","

[columns]
Day = { field = "date", format = "%d.%m.%Y" }
Neg = "negative"
Time = { field = "base", unit = "s" }
Grade = "filter"
Hard = { field = "pass", label = "hard", filter = "5", unit = "s" }
Size = { field = "size", unit = "cm" }
Stop = "aperture"
Burned = { field = "remark", before = "burned" }
Words = "remark"

[defaults]
paper = "pearl"
"""
HEAD = "Day;Neg;Time;Grade;Hard;Size;Stop;Burned;Words;Weather\r\n"
GOOD = (
    HEAD
    + '28.3.2019;T-7/3;12,5;2;;24x30;f/8;sky 4 s;"good; but\ncold";rain\r\n'
    + "\r\n"
    + "29.3.2019;T-7/4;8 s;00;6,5;20,3 x 25,4 cm;;;;\r\n"
)


def mapping() -> Mapping:
    return mapping_of(MAP, "map.toml")


def test_notes_become_scores() -> None:
    """Decimal commas, units, a second pass, sizes, remarks, cells with line breaks in them."""
    found = read_notes(GOOD, mapping(), "old.csv", TODAY)
    assert found.bad == []
    assert found.unused == ("Weather",)
    first, second = found.notes
    assert (str(first.on), first.score.negative, first.score.base_s) == (
        "2019-03-28",
        "T-7/3",
        12.5,
    )
    assert (first.score.paper.name, first.score.paper.width_mm) == ("pearl", 240)
    assert first.score.setup.aperture == "8"
    assert first.remark == "burned: sky 4 s; good; but cold"
    assert [(one.label, one.filter) for one in second.score.passes] == [
        ("print", "00"),
        ("hard", "5"),
    ]
    assert second.score.passes[1].dose.from_base_s(8.0) == 6.5
    assert second.score.paper.height_mm == pytest.approx(254)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "3/28/2019;;8;;;;;;;",
            "line 2, date: '3/28/2019' is no day; right would be one such as 28",
        ),
        ("2.1.2026;;8;;;;;;;", "still to come"),
        ("28.3.2019;;0;;;;;;;", "line 2, base: '0' is no number"),
        ("28.3.2019;;eight;;;;;;;", "such as 12,5"),
        ("28.3.2019;;;;;;;;;", "no exposure"),
        (";;8;;;;;;;", "no day"),
        ("28.3.2019;;8;;;24;;;;", "width and height such as 24x30"),
        ("28.3.2019;;8;;;;wide;;;", "setup.aperture"),
        ("28.3.2019;;8;;;;;;;;;too many", "12 cells"),
        ("28.3.2019;;8;;x;;;;;", "line 2, Hard"),
    ],
)
def test_each_bad_line_is_named_and_the_good_ones_are_read(line: str, words: str) -> None:
    """File, line, column, what is wrong and what would be right, in one sentence."""
    text = HEAD + line + "\r\n29.3.2019;;8;;;;;;;\r\n"
    found = read_notes(text, mapping(), "old.csv", TODAY)
    assert len(found.notes) == 1
    (sentence,) = found.bad
    assert words in sentence
    assert sentence.startswith("old.csv, line 2")
    assert len(sentence.splitlines()) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "it is empty"),
        ("Day;Neg\r\n", "no column is called 'Time'"),
        (HEAD.replace("Weather", "Neg"), "two are 'Neg'"),
        (HEAD + '"28.3.2019;;8', "no CSV"),
    ],
)
def test_a_file_that_does_not_fit_is_refused_as_a_whole(text: str, words: str) -> None:
    """With its name and what would be right."""
    with pytest.raises(BadInput, match=words):
        read_notes(text, mapping(), "old.csv", TODAY)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('Neg = "negative"', 'Neg = "negativ"', "negative"),
        ('unit = "cm"', 'unit = "ell"', "mm or cm or in"),
        ('Stop = "aperture"', 'Stop = "negative"', "two columns are negative"),
        ('label = "hard", ', "", "no label"),
        ('delimiter = ";"', 'delimiter = ";;"', "parts nothing"),
        ('decimal = ","', 'encoding = "latin-99"', "utf-8 or latin-1"),
        ('Day = { field = "date", format = "%d.%m.%Y" }', "", 'field = "date"'),
        ('paper = "pearl"', 'remark = "x"', "a column of its own"),
        ("[columns]", "[colums]", "columns"),
    ],
)
def test_a_mapping_that_means_nothing_is_refused(old: str, new: str, words: str) -> None:
    """Naming the file, the field and what would be right."""
    with pytest.raises(BadInput) as told:
        mapping_of(MAP.replace(old, new), "map.toml")
    assert words in str(told.value)
    assert "map.toml" in str(told.value)


def test_notes_are_kept_once_and_are_prints_like_others(tmp_path: Path) -> None:
    """Two lines alike are two prints; the file twice adds nothing; a page comes of each."""
    twice = GOOD + GOOD.removeprefix(HEAD)
    notes = read_notes(twice, mapping(), "old.csv", TODAY).notes
    with Book.open(tmp_path / "book.sqlite", now=now) as book:
        for added in (4, 0):
            with book.changing() as db:
                assert merge(db, rows_of(notes), "old.csv").added["record"] == added
        records = book.records()
        assert len(records) == 4
        assert book.interrupted() == []
        page = book.record(records[0].record_id)
        assert page is not None
        assert score_of_record(page.record).negative.startswith("T-7/")
        sheet = print_sheet(page, day=str)
        assert all(step.given_s == step.planned_s for step in sheet.steps)
        assert {record.begun_at.date().isoformat() for record in records} == {
            "2019-03-28", "2019-03-29",
        }  # fmt: skip


def test_another_encoding_is_told() -> None:
    """Bytes that are no UTF-8 are not guessed at."""
    with pytest.raises(BadInput, match="latin-1"):
        decoded("Größe".encode("latin-1"), mapping(), "old.csv")


@pytest.mark.parametrize(
    ("read", "right"),
    [
        (lambda: seconds("1:30", "m:s", "."), 90.0),
        (lambda: seconds("1.5 min", "min", "."), 90.0),
        (lambda: seconds("12 sec", "s", "."), 12.0),
        (lambda: number("1.234,5", ","), 1234.5),
        (lambda: size_mm('8x10"', "in", "."), (pytest.approx(203.2), 254.0)),
        (lambda: str(day("3/28/19", "%m/%d/%y", TODAY)), "2019-03-28"),
    ],
)
def test_cells_are_read_as_people_write_them(read: Any, right: object) -> None:
    """Times, numbers, sizes, days."""
    assert read() == right


@given(st.text(alphabet='0123456789.,:;"x sm\n\r-/é=', max_size=120))
def test_no_text_is_too_odd(text: str) -> None:
    """Whatever a file holds: notes, sentences, or a refusal; never anything else."""
    try:
        found = read_notes(HEAD + text, mapping(), "old.csv", TODAY)
    except BadInput as error:
        told = [str(error)]
    else:
        told = found.bad
        rows_of(found.notes)
    assert all(len(sentence.splitlines()) == 1 for sentence in told)


def test_the_mapping_of_the_readme_is_one() -> None:
    """What a stranger copies works."""
    readme = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
    lines = readme[readme.index("    [file]\n    delimiter") :].splitlines()
    block = "\n".join(line[4:] for line in takewhile(lambda line: line.startswith("    "), lines))
    assert mapping_of(block, "README.md").columns["Time"].field == "base"
