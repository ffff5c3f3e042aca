"""The command line of the book on paper, out and in, and in figures. Light to load."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.options import JsonOption

book_out_app = typer.Typer()

KeyArgument = Annotated[
    str, typer.Argument(metavar="RECORD", help="A mark such as K7, or the start of a record id.")
]
PdfOption = Annotated[str, typer.Option("--pdf", metavar="FILE", help="The PDF to write.")]
PaperOption = Annotated[str, typer.Option("--paper", help="Size of page: A4 or letter.")]


@book_out_app.command("sheet")
def book_sheet(
    key: KeyArgument,
    pdf: PdfOption = "",
    paper: PaperOption = "A4",
    picture: Annotated[
        str, typer.Option(metavar="FILE", help="A picture of the print, to lie beneath the map.")
    ] = "",
) -> None:
    """Write a print's record on one page, to keep with the print or to hang up."""
    from ui.commands.book_paper import sheet

    sheet(key, pdf, paper=paper, picture=picture)


@book_out_app.command("labels")
def book_labels(
    keys: Annotated[
        list[str], typer.Argument(metavar="RECORD...", help="Marks, or starts of record ids.")
    ],
    pdf: PdfOption = "labels.pdf",
    paper: PaperOption = "A4",
    only: Annotated[str, typer.Option(help="Only these: back (of prints) or sleeve.")] = "",
    grid: Annotated[str, typer.Option(help="Columns and rows of a page.")] = "2x7",
    skip: Annotated[int, typer.Option(min=0, help="Labels of the first page used before.")] = 0,
) -> None:
    """Write labels for the backs of prints and the sleeves of their negatives."""
    from ui.commands.book_paper import labels

    labels(keys, pdf, paper=paper, only=only, grid=grid, skip=skip)


@book_out_app.command("box")
def book_box(
    batch: Annotated[str, typer.Argument(help="The box or batch number, as scores have it.")],
    pdf: PdfOption = "",
    paper: PaperOption = "A4",
) -> None:
    """List the prints that a box of paper became; with --pdf, each with its small map."""
    from ui.commands.book_paper import box

    box(batch, pdf, paper=paper)


@book_out_app.command("export")
def book_export(
    file: Annotated[str, typer.Argument(help="A new .zip (all of it), .csv or .json.")],
    of: Annotated[
        str, typer.Option(help="In a CSV: a line for each of the sheets, or exposures.")
    ] = "sheets",
    replace: Annotated[bool, typer.Option("--replace", help="Write over a file.")] = False,
) -> None:
    """Write the book out: a whole archive, a table for a spreadsheet, or JSON."""
    from ui.commands.book_carry import export

    export(file, of=of, replace=replace)


@book_out_app.command("schema")
def book_schema() -> None:
    """Print the JSON Schema of a book that was exported as JSON."""
    from ui.commands.book_carry import schema

    schema()


@book_out_app.command("import")
def book_import(
    file: Annotated[
        str,
        typer.Argument(help="An archive (.zip) of another unit, a copy of a book, or old notes."),
    ],
    map_: Annotated[
        str, typer.Option("--map", metavar="TOML", help="Of notes (.csv): what the columns are.")
    ] = "",
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only look: nothing is written.")
    ] = False,
    skip_bad: Annotated[
        bool, typer.Option("--skip-bad", help="Of notes: leave out the lines that do not fit.")
    ] = False,
) -> None:
    """Take another book or old notes in; what is there stays, and nothing comes in twice."""
    from ui.commands.book_carry import import_
    from ui.commands.book_notes import import_notes

    if file.lower().endswith(".csv"):
        import_notes(file, map_, dry_run=dry_run, skip_bad=skip_bad)
    else:
        import_(file, dry_run=dry_run)


@book_out_app.command("figures")
def book_figures(
    json_: JsonOption = False,
    since: Annotated[str, typer.Option(metavar="DAY", help="Only from this day on.")] = "",
    png: Annotated[str, typer.Option("--png", metavar="FILE", help="Draw a picture.")] = "",
    pdf: PdfOption = "",
) -> None:
    """Count the book: paper used and wasted, tests and time for each print, the lamp's lag."""
    from ui.commands.book_carry import figures

    figures(json_=json_, since=since, png=png, pdf=pdf)
