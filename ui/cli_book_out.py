"""The command line of the book on paper, out and in, and in figures. Light to load."""

from __future__ import annotations

from typing import Annotated

import typer

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
