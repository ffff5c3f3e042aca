"""Old notes from a CSV file become prints of the book: every line checked before any is kept.

A note's id is made of what it says, so that the same file twice adds nothing. What was exposed
is believed as it was noted; nobody measured its light, and there are no pulses.
"""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from functools import partial
from io import StringIO
from typing import Any, TypeVar

from controller.book_out.mapping import Mapping, Target, day, number, rating, seconds, size_mm
from controller.book_out.rows import Row
from controller.errors import BadInput
from controller.events import Fate
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import NO_FILTER
from controller.score.doses import exposures
from controller.score.file import from_tables, tables_of
from controller.score.model import Score
from controller.written import RIGHT_IS

T = TypeVar("T")
RIG = "old notes"
UNMARKED = "-"  # no mark was ever pencilled on such a sheet
RIGHT_FILE = "a CSV file with a head line, as spreadsheets write it"


@dataclass(frozen=True)
class Note:
    """A line that was understood."""

    line: int
    on: date
    mark: str
    score: Score
    remark: str
    rating: int | None = None
    went: str = ""


@dataclass
class Read:
    """What a file came to: notes, and a sentence for each line that is none."""

    notes: list[Note] = field(default_factory=list)
    bad: list[str] = field(default_factory=list)
    unused: tuple[str, ...] = ()  # columns that nothing was said of


def decoded(data: bytes, mapping: Mapping, file: str) -> str:
    """Turn a file into text. Raises BadInput where it is in another encoding."""
    try:
        return data.decode(mapping.file.encoding)
    except UnicodeError:
        right = "another encoding in [file] of the mapping, such as latin-1"
        raise BadInput(f"it is not written in {mapping.file.encoding}", file, right) from None


def read_notes(text: str, mapping: Mapping, file: str, today: date) -> Read:
    """Read every line of a file; none is of a day after today.

    Raises BadInput where the file as a whole does not fit.
    """
    delimiter = "\t" if mapping.file.delimiter == "tab" else mapping.file.delimiter
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found = Read()
    heads: list[str] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if not heads:
                heads = _heads(cells, mapping, file)
                found.unused = tuple(h for h in heads if h and h not in mapping.columns)
                continue
            where = f"{file}, line {reader.line_num}"
            try:
                found.notes.append(_note(heads, cells, mapping, reader.line_num, where, today))
            except BadInput as error:
                found.bad.append(str(error))
    except csv.Error as error:
        raise BadInput(
            f"this is no CSV ({error})", f"{file}, line {reader.line_num}", RIGHT_FILE
        ) from None
    if not heads:
        raise BadInput("it is empty", file, RIGHT_FILE)
    return found


def rows_of(notes: list[Note]) -> dict[str, list[Row]]:
    """Give notes as rows of the book's tables, for ``merge``; alike lines are told apart."""
    rows: dict[str, list[Row]] = {
        name: [] for name in ("record", "run", "sheet", "exposure", "remark")
    }
    for record_id, note in identified(notes):
        _add(rows, note, record_id)
    return rows


def identified(notes: list[Note]) -> Iterator[tuple[str, Note]]:
    """Give notes in order, each with the id of its record, which is always the same."""
    seen: dict[str, int] = {}
    for note in sorted(notes, key=lambda one: (one.on, one.line)):
        said = json.dumps([str(note.on), note.mark, tables_of(note.score), note.remark])
        seen[said] = seen.get(said, 0) + 1
        again = "" if seen[said] == 1 else f" {seen[said]}"
        yield hashlib.sha256((said + again).encode()).hexdigest()[:32], note


# --- inside -----------------------------------------------------------------------------------


def _heads(cells: list[str], mapping: Mapping, file: str) -> list[str]:
    heads = [cell.strip() for cell in cells]
    for name in mapping.columns:
        if heads.count(name) != 1:
            what = f"no column is called {name!r}" if name not in heads else f"two are {name!r}"
            right = f"one of {', '.join(map(repr, filter(None, heads)))}"
            raise BadInput(what, f"{file}, line 1", right)
    return heads


def _note(
    heads: list[str], cells: list[str], mapping: Mapping, line: int, where: str, today: date
) -> Note:
    if len(cells) > len(heads) and any(cell.strip() for cell in cells[len(heads) :]):
        what = f"it has {len(cells)} cells, and the head line {len(heads)}"
        raise BadInput(what, where, "a text with the delimiter in it in quotes")
    given: dict[str, tuple[str, Target]] = {}
    passes: list[tuple[Target, float]] = []
    remarks: list[str] = []
    for head, cell in zip(heads, cells, strict=False):
        target = mapping.columns.get(head)
        text = " ".join(cell.split())
        if target is None or not text:
            continue
        if target.field == "pass":
            read = partial(seconds, text, target.unit, mapping.file.decimal)
            passes.append((target, _read(read, where, head)))
        elif target.field == "remark":
            remarks.append(f"{target.before}: {text}" if target.before else text)
        else:
            given[target.field] = (text, target)
    for name, text in mapping.defaults.items():
        given.setdefault(name, (text, Target(field=name)))
    return _made(given, passes, remarks, mapping, line, where, today)


def _made(
    given: dict[str, tuple[str, Target]],
    passes: list[tuple[Target, float]],
    remarks: list[str],
    mapping: Mapping,
    line: int,
    where: str,
    today: date,
) -> Note:
    decimal = mapping.file.decimal
    if "date" not in given:
        raise BadInput("it has no day", where, "a day, or a default for it")
    text, target = given["date"]
    on = _read(lambda: day(text, target.format, today), where, "date")
    base_s: float | None = None
    if "base" in given:
        time_text, of = given["base"]
        base_s = _read(lambda: seconds(time_text, of.unit, decimal), where, "base")
    if base_s is None and not passes:
        raise BadInput("it has no exposure", where, "a time")

    def plain(name: str) -> str:
        return given[name][0] if name in given else ""

    lit: list[dict[str, Any]] = []
    if base_s is not None:
        lit.append({"label": "print", "filter": plain("filter"), "dose": "+0"})
    lit += [
        {"label": one.label, "filter": one.filter, "dose": f"{dose_s:g}s"} for one, dose_s in passes
    ]
    paper: dict[str, Any] = {
        "name": plain("paper"), "batch": plain("batch"), "dry_down": plain("dry_down"),
    }  # fmt: skip
    if "size" in given:
        size_text, size = given["size"]
        wide, high = _read(lambda: size_mm(size_text, size.unit, decimal), where, "size")
        paper |= {"width_mm": wide, "height_mm": high}
    setup: dict[str, Any] = {
        "lens": plain("lens"), "column": plain("column"),
        "aperture": plain("aperture").lower().removeprefix("f/").removeprefix("f").strip(),
    }  # fmt: skip
    if "magnification" in given:
        times = plain("magnification").lower().rstrip("x\u00d7 ")
        setup["magnification"] = _read(lambda: number(times, decimal), where, "magnification")
    process = {n: plain(n) for n in ("developer", "time", "temperature", "toning")}
    tables = {
        "title": plain("title"),
        "negative": plain("negative"),
        "base_s": base_s if base_s is not None else passes[0][1],
        # what was noted is what was given: no dry-down is taken off a second time
        "judged": "dry",
        "paper": paper,
        "setup": setup,
        "passes": lit,
        "process": process,
        "came_from": [RIG],
    }
    score = from_tables(tables, where)
    rated = _read(lambda: rating(plain("rating")), where, "rating") if plain("rating") else None
    mark = plain("mark") or UNMARKED
    return Note(line, on, mark, score, "; ".join(remarks), rated, plain("went"))


def _read(read: Callable[[], T], where: str, head: str) -> T:
    """Read a cell; what is wrong with it is told with its place."""
    try:
        return read()
    except ValueError as error:
        what, _, right = str(error).partition(RIGHT_IS)
        raise BadInput(what, f"{where}, {head}", right) from None


def _add(rows: dict[str, list[Row]], note: Note, record_id: str) -> None:
    """Put a note down as a record with one run, one sheet and its exposures."""
    at = datetime.combine(note.on, time(12), UTC)
    given = exposures(note.score)
    score = note.score
    size = (score.paper.width_mm, score.paper.height_mm)
    doses = ", ".join(f"{one.label} {one.dose_s:.3g} s" for one in given)
    title = ": ".join(filter(None, (score.title or score.negative, doses)))
    lit = [(Go(one.label), Expose(one.label, one.dose_s, filter=one.filter)) for one in given]
    plan = Plan("print", title, (Sheet(*size), *(action for pair in lit for action in pair)))
    number_in = len(rows["record"]) + 1
    rows["record"].append(
        {
            "id": number_in, "record_id": record_id, "kind": "print", "title": title,
            "lamp": "{}", "rig": RIG, "begun_at": at, "ended_at": at,
            "fate": Fate.DONE.value, "reason": "",
        }
    )  # fmt: skip
    rows["run"].append(
        {
            "id": number_in, "record_id": record_id, "number": 1, "kind": "first", "mark": None,
            "plan": plan.to_json(), "spec": json.dumps(tables_of(score)), "begun_at": at,
            "fate": Fate.DONE.value,
        }
    )  # fmt: skip
    rows["sheet"].append(
        {
            "id": number_in, "record_id": record_id, "mark": note.mark, "width_mm": size[0],
            "height_mm": size[1], "begun_at": at, "ended_at": at, "fate": Fate.DONE.value,
            "moved": None,
        }
    )  # fmt: skip
    for count, one in enumerate(given, start=1):
        rows["exposure"].append(
            {
                "id": len(rows["exposure"]) + 1, "record_id": record_id, "number": count,
                "mark": note.mark, "label": one.label, "dose_s": one.dose_s,
                "pulses_wanted": 1, "first_pulse": 0, "resumed": False, "intended_at": at,
                "delivered_dose_s": one.dose_s, "full": True, "low_s": None, "high_s": None,
                "run": 1, "filter": one.filter if one.filter != NO_FILTER else "",
            }
        )  # fmt: skip
    if note.remark:
        rows["remark"].append(
            {
                "id": len(rows["remark"]) + 1, "record_id": record_id, "mark": note.mark,
                "label": "", "text": note.remark, "at": at,
            }
        )  # fmt: skip
