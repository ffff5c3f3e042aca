"""``dryside book import NOTES.csv``: old notes become prints of the book."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from controller.book_out.mapping import mapping_of
from controller.book_out.merging import merge, told
from controller.book_out.notes import Note, Read, decoded, read_notes, rows_of
from controller.errors import BadInput
from controller.numbered import numbered
from controller.stops import format_time
from controller.written import text_of
from ui import show
from ui.unit import open_book

RIGHT_MAP = "--map with a TOML file that says what the columns are; README shows one"
SHOWN = 8  # notes of a dry run


def import_notes(file: str, map_: str, *, dry_run: bool, skip_bad: bool) -> None:
    """Read notes by a mapping; all that is wrong is said before anything is written."""
    if not map_:
        raise BadInput("nobody knows what its columns are", file, RIGHT_MAP)
    mapping = mapping_of(text_of(Path(map_), map_, RIGHT_MAP), map_)
    try:
        data = Path(file).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read ({reason})", file, "a CSV file") from None
    found = read_notes(
        decoded(data, mapping, file), mapping, file, datetime.now().astimezone().date()
    )
    for sentence in found.bad:
        show.note(sentence)
    if found.unused:
        show.note(f"columns that are left out: {', '.join(found.unused)}")
    if found.bad and not skip_bad and not dry_run:
        raise BadInput(
            f"{len(found.bad)} of {len(found.bad) + len(found.notes)} lines do not fit, and "
            "nothing was written",
            file,
            "those lines put right, or --skip-bad to leave them out",
        )
    if dry_run:
        _show(found)
        return
    with open_book() as book, book.changing() as db:
        merged = merge(db, rows_of(found.notes), file)
    show.lines(told(merged))


def _show(found: Read) -> None:
    for note in found.notes[:SHOWN]:
        show.cut(_line(note))
    if len(found.notes) > SHOWN:
        print(f"and {len(found.notes) - SHOWN} more")
    bad = f" and {numbered(len(found.bad), 'bad line')}" if found.bad else ""
    print(f"{numbered(len(found.notes), 'note')}{bad}; nothing was written")


def _line(note: Note) -> str:
    score = note.score
    doses = ", ".join(
        f"{one.label} {format_time(one.dose.from_base_s(score.base_s))}" for one in score.passes
    )
    paper = score.paper
    parts = (
        score.title, score.negative and f"negative {score.negative}", doses, paper.name,
        f"{paper.width_mm:g} x {paper.height_mm:g} mm", note.remark,
    )  # fmt: skip
    return f"{note.on}  " + "; ".join(filter(None, parts))
