"""The book on paper, out and in, and in figures, on the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from controller.strips.strip import Strip
from tests.controller.imagined_scene import SCENE
from tests.controller.record_sheet.kept import keep_print, keep_strip
from tests.ui.command import Told
from ui.unit import open_book


@pytest.fixture
def kept(dryside: Callable[..., Told]) -> Callable[..., Told]:
    """The commands, with a strip and the print that came from it in the book."""
    score = SCENE.model_copy(update={"came_from": ("K1 C",)})
    with open_book() as book:
        keep_strip(book, Strip(base_s=8.0), "a" * 32, "K1")
        keep_print(book, score, "b" * 32, "K2", remark="the quay is right now")
    return dryside


def test_a_record_becomes_a_page(kept: Callable[..., Told], tmp_path: Path) -> None:
    """By its mark: one page, with the print's exposures, its strip and the remark."""
    code, out, err = kept("book", "sheet", "K2", "--pdf", "k2.pdf")
    assert (code, err) == (0, "")
    assert "k2.pdf" in out
    (page,) = PdfReader(tmp_path / "k2.pdf").pages
    text = page.extract_text()
    for words in ("Harbour, low tide", "burn cloud", "TEST STRIP K1", "the quay is right now"):
        assert words in text, words


@pytest.mark.parametrize(
    ("words", "right"),
    [
        (("sheet", "Q9", "--pdf", "a.pdf"), "`dryside book list` shows"),
        (("sheet", "K1", "--pdf", "a.pdf"), "the mark of a print"),
        (("sheet", "K2", "--pdf", "a.txt"), "a name that ends in .pdf"),
        (("sheet", "K2", "--pdf", "no/such/a.pdf"), "a folder that exists"),
        (("sheet", "K2", "--paper", "A0"), "A4 or letter"),
        (("sheet", "K2", "--picture", "none.png"), "a PNG or a JPEG"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(
    kept: Callable[..., Told], words: tuple[str, ...], right: str
) -> None:
    """Exit code 2, and what would be right."""
    code, out, err = kept("book", *words)
    assert (code, out) == (2, "")
    assert right in err
    assert len(err.strip().splitlines()) == 1


def test_labels_and_the_list_of_a_box(kept: Callable[..., Told], tmp_path: Path) -> None:
    """Both are PDFs; the list tells the box's prints in words as well."""
    assert kept("book", "labels", "K2", "--pdf", "labels.pdf")[0] == 0
    assert "T-7" in PdfReader(tmp_path / "labels.pdf").pages[0].extract_text()
    code, out, err = kept("book", "box", "DEMO", "--pdf", "box.pdf")
    assert (code, err) == (0, "")
    assert "1 sheet: 1 done" in out
    assert "K2" in PdfReader(tmp_path / "box.pdf").pages[0].extract_text()
    assert kept("book", "box", "none")[0] == 2
    assert "back or sleeve" in kept("book", "labels", "K2", "--only", "front")[2]


def test_a_book_goes_out_and_into_another_unit(
    kept: Callable[..., Told], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Archive, table and JSON; the archive in another home has the same print, and once only."""
    for file in ("book.zip", "book.csv", "book.json"):
        code, out, err = kept("book", "export", file)
        assert (code, err) == (0, "")
        assert "2 records" in out
    assert json.loads((tmp_path / "book.json").read_text())["records"][1]["record_id"] == "b" * 32
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "another"))
    assert "whole: 2 records" in kept("book", "import", "book.zip", "--dry-run")[1]
    assert "the book is empty" in kept("book", "list")[1]
    assert "2 records added" in kept("book", "import", "book.zip")[1]
    assert "there already" in kept("book", "import", "book.zip")[1]
    assert "Harbour, low tide" in kept("book", "show", "K2")[1]


@pytest.mark.parametrize(
    ("words", "right"),
    [
        (("export", "book.txt"), ".zip, .csv or .json"),
        (("export", "there.zip"), "--replace"),
        (("export", "a.csv", "--of", "prints"), "sheets or exposures"),
        (("export", "no/such/a.csv"), "a folder that exists"),
        (("import", "none.zip"), "an archive that"),
        (("import", "there.zip"), "an archive that"),
    ],
)
def test_no_export_and_no_import_goes_wrong_in_silence(
    kept: Callable[..., Told], tmp_path: Path, words: tuple[str, ...], right: str
) -> None:
    """Exit code 2 and one sentence with what would be right."""
    (tmp_path / "there.zip").write_bytes(b"no zip at all")
    code, _, err = kept("book", *words)
    assert code == 2
    assert right in err
    assert len(err.strip().splitlines()) == 1


def test_a_print_s_number_is_enough_for_its_page_and_its_labels(
    kept: Callable[..., Told], tmp_path: Path
) -> None:
    """Old notes may have no mark: what `book find` shows of them is taken."""
    for words in (("sheet", "#1"), ("labels", "#1")):
        code, _, err = kept("book", *words, "--pdf", "one.pdf")
        assert code == 0, err
        assert (tmp_path / "one.pdf").read_bytes().startswith(b"%PDF")
    assert kept("book", "sheet", "#99")[0] == 2


def test_the_book_in_figures(kept: Callable[..., Told], tmp_path: Path) -> None:
    """In words, as JSON, as a picture and on paper."""
    code, out, err = kept("book", "figures")
    assert (code, err) == (0, "")
    assert "paper used 0.06 m2 (1.1 sheets of 8x10 in), of it wasted 0 %" in out
    found = json.loads(kept("book", "figures", "--json")[1])
    assert found["sheets"] == {"print": {"done": 1}, "strip": {"done": 1}}
    assert kept("book", "figures", "--png", "f.png", "--pdf", "f.pdf")[0] == 0
    assert (tmp_path / "f.png").read_bytes().startswith(b"\x89PNG")
    assert "Darkroom in figures" in PdfReader(tmp_path / "f.pdf").pages[0].extract_text()
    assert "such as 2026-03-01" in kept("book", "figures", "--since", "soon")[2]


def test_old_notes_come_in(kept: Callable[..., Told], tmp_path: Path) -> None:
    """A dry run shows them; a bad line keeps all out unless it is to be left out; twice is once."""
    (tmp_path / "map.toml").write_text('[columns]\nDay = "date"\nTime = "base"\nNeg = "negative"\n')
    (tmp_path / "old.csv").write_text("Day,Time,Neg\n2019-03-28,12,T-7\n2019-03-29,none,T-8\n")
    words = ("book", "import", "old.csv", "--map", "map.toml")
    code, out, err = kept(*words, "--dry-run")
    assert code == 0
    assert "1 note and 1 bad line; nothing was written" in out
    assert "old.csv, line 3, base: 'none' is no number" in err
    code, out, err = kept(*words)
    assert code == 2
    assert "nothing was written" in err
    assert "1 record added" in kept(*words, "--skip-bad")[1]
    assert "there already" in kept(*words, "--skip-bad")[1]
    assert "T-7" in kept("book", "list")[1]
    assert "--map" in kept("book", "import", "old.csv")[2]


def test_a_rating_and_where_it_went_come_in_with_old_notes(
    kept: Callable[..., Told], tmp_path: Path
) -> None:
    """In figures or stars; what was said here since stays, and a rating that is none is told."""
    (tmp_path / "map.toml").write_text(
        '[columns]\nDay = "date"\nTime = "base"\nNeg = "negative"\nStars = "rating"\nTo = "went"\n'
    )
    head = "Day,Time,Neg,Stars,To\n"
    (tmp_path / "old.csv").write_text(
        f"{head}2019-03-28,12,T-7,***,the framer\n2019-03-29,9,T-8,5,\n"
    )
    words = ("book", "import", "old.csv", "--map", "map.toml")
    assert kept(*words)[0] == 0
    (framed,) = json.loads(kept("book", "find", "framer", "--json")[1])
    assert (framed["negative"], framed["rating"], framed["went"]) == ("T-7", 3, "the framer")
    number = f"#{framed['print_id']}"
    assert kept("book", "print", "rate", number, "4")[0] == 0
    assert kept(*words)[0] == 0
    (again,) = json.loads(kept("book", "find", "framer", "--json")[1])
    assert again["rating"] == 4
    (tmp_path / "old.csv").write_text(f"{head}2019-03-30,9,T-9,six,\n")
    code, _, err = kept(*words)
    assert code == 2
    assert "line 2, rating: 'six' is no rating; right would be 1 (worst) to 5 (best)" in err


def test_what_else_is_kept_of_a_print_is_on_its_page(
    kept: Callable[..., Told], tmp_path: Path
) -> None:
    """Its number in an edition, its negative's film, how it dried; and the number on its label."""
    assert kept("book", "negative", "add", "T-7, frame 3", "--film", "a slow one")[0] == 0
    assert kept("book", "edition", "new", "harbour", "--copies", "25")[0] == 0
    assert kept("book", "edition", "sign", "harbour", "K2")[0] == 0
    assert kept("book", "print", "remark", "K2", "lighter", "--dry", "darker in the sky")[0] == 0
    assert kept("book", "sheet", "K2", "--pdf", "k2.pdf")[0] == 0
    text = PdfReader(tmp_path / "k2.pdf").pages[0].extract_text()
    for words in ("1/25", "a slow one", "when it was dry: darker in the sky"):
        assert words in text, words
    assert kept("book", "labels", "K2", "--pdf", "l.pdf")[0] == 0
    assert "1/25" in PdfReader(tmp_path / "l.pdf").pages[0].extract_text()


def test_a_strip_lies_beside_a_print_with_a_scan_of_it(
    kept: Callable[..., Told], tmp_path: Path
) -> None:
    """The scan is kept under the strip's mark, and is drawn on the print's page."""
    Image.new("L", (400, 60), 128).save(tmp_path / "scan.png")
    assert kept("book", "sheet", "K2", "--pdf", "before.pdf")[0] == 0
    assert kept("book", "print", "attach", "K2", "--strip", "K1=scan.png")[0] == 0
    (copy,) = (tmp_path / "home" / "pictures").glob("K1-aaaaaaaa*")
    assert copy.read_bytes() == (tmp_path / "scan.png").read_bytes()
    assert kept("book", "sheet", "K2", "--pdf", "after.pdf")[0] == 0
    before, after = (
        len(PdfReader(tmp_path / name).pages[0].images) for name in ("before.pdf", "after.pdf")
    )
    assert after == before + 1
    code, _, err = kept("book", "print", "attach", "K2", "--strip", "K1=gone.png")
    assert code == 2
    assert "there is no such file" in err


def test_what_came_in_is_found_among_prints(kept: Callable[..., Told], tmp_path: Path) -> None:
    """Old notes, which tell of no prints, are prints of the book all the same."""
    (tmp_path / "map.toml").write_text('[columns]\nDay = "date"\nTime = "base"\nNeg = "negative"\n')
    (tmp_path / "old.csv").write_text("Day,Time,Neg\n2019-03-28,12,the pier\n")
    assert kept("book", "import", "old.csv", "--map", "map.toml")[0] == 0
    assert "the pier" in kept("book", "find", "pier")[1]
