"""``dryside book export``, ``import`` and ``schema``: the book out, and in again."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from controller.book.book import Book
from controller.book.entries import Page
from controller.book.prints import all_prints
from controller.book_out import archive, flat, told
from controller.book_out.bars import figure_lines
from controller.book_out.drift import drifts_of
from controller.book_out.figures import figures as count
from controller.book_out.figures import since_asked
from controller.book_out.merging import told as told_of_merging
from controller.errors import BadInput, quoted
from controller.numbered import numbered
from controller.record_sheet.canvas import pdf as pdf_of
from controller.record_sheet.canvas import write_pdf
from controller.record_sheet.figures_page import figures_page
from controller.record_sheet.raster import write_png
from drivers.places import data_folder
from ui import show
from ui.unit import open_book

SUFFIXES = ("zip", "csv", "json")
TABLES = {"sheets": flat.sheets_csv, "exposures": flat.exposures_csv}


def export(file: str, *, of: str, replace: bool) -> None:
    """Write the book out, by the suffix of the file."""
    path = Path(file)
    suffix = path.suffix.lower().removeprefix(".")
    if suffix not in SUFFIXES:
        raise BadInput("it says not what to write", file, "a name that ends in .zip, .csv or .json")
    if of not in TABLES:
        raise BadInput(f"{quoted(of)} is no table", "--of", " or ".join(TABLES))
    if path.exists() and not replace:
        raise BadInput("it is there already", file, "a new name, or --replace")
    with open_book() as book:
        if suffix == "zip":
            pictures = [one for one in _folder().glob("*") if one.is_file()]
            made = archive.write_archive(book, pictures, path, datetime.now(UTC), replace=replace)
            records, more = made.records, f", {numbered(len(pictures), 'picture')}"
        elif suffix == "csv":
            pages = list(_pages(book))
            with _writing(path):
                # the lines end as RFC 4180 has it, whatever the system's own habit
                path.write_text(TABLES[of](pages, all_prints(book)), encoding="utf-8", newline="")
            records, more = len(pages), ""
        else:
            out = told.book_out(book)
            with _writing(path):
                path.write_bytes(told.to_json(out))
            records, more = len(out.records), ""
    print(f"{numbered(records, 'record')}{more}: {file}")


def figures(*, json_: bool, since: str, png: str, pdf: str) -> None:
    """Count the book, in words, as JSON, as a picture."""
    begin = since_asked(since)
    with open_book() as book:
        outputs = book.outputs()
        lags = [one for output in outputs for one in book.calibrations(output, limit=10**6)]
        found = count(_pages(book), lags, drifts_of(book.papers), since=begin)
    if json_:
        show.as_json(found)
    else:
        show.lines(figure_lines(found))
    if png or pdf:
        marks, size = figures_page(found)
        if png:
            write_png(Path(png), marks, size)
        if pdf:
            write_pdf(Path(pdf), pdf_of([marks], size, "Darkroom in figures"))
        show.note(f"picture: {', '.join(filter(None, (png, pdf)))}")


def schema() -> None:
    """Print the schema of a book as JSON."""
    show.as_json(told.schema())


def import_(file: str, *, dry_run: bool) -> None:
    """Take an archive in, or a copy of a book, or only prove it."""
    if archive.is_copy(Path(file)):
        _import_copy(Path(file), dry_run=dry_run)
        return
    if dry_run:
        manifest, tables = archive.read_archive(Path(file))
        rows = sum(len(one) for one in tables.values())
        print(f"{file} is whole: {manifest.records} records, {rows} rows; nothing was written")
        return
    with open_book() as book:
        _, merged, copied = archive.import_archive(book, Path(file), _folder())
    show.lines(told_of_merging(merged))
    if copied:
        print(numbered(copied, "picture"))


def _import_copy(path: Path, *, dry_run: bool) -> None:
    if dry_run:
        tables = archive.read_copy(path, _now)
        rows = sum(len(one) for one in tables.values())
        print(f"{path} is whole: {numbered(rows, 'row')}; nothing was written")
        return
    with open_book() as book:
        merged = archive.import_copy(book, path, _now)
    show.lines(told_of_merging(merged))


def _now() -> datetime:
    return datetime.now(UTC)


def _folder() -> Path:
    return data_folder() / "pictures"


def _pages(book: Book) -> Iterator[Page]:
    for record in reversed(book.records(limit=2**31 - 1)):
        page = book.record(record.record_id)
        if page is not None:
            yield page


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(path), right) from error
