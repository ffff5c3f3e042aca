"""``dryside book``: what was exposed, and the rest of what was cut off."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from controller.book.prints import prints_of_record
from controller.book_told.print_words import prints_lines
from controller.book_told.strip_report import page_lines
from controller.desk.going_on import UNCERTAIN, go_on_with
from controller.errors import BadInput
from drivers.places import run_folder
from ui import show
from ui.attach import running_record
from ui.carry_out import carry_out
from ui.show import when
from ui.unit import open_book, unit_for

if TYPE_CHECKING:
    from controller.book.interrupted import Interrupted


def list_records(limit: int, *, json_: bool) -> None:
    """List the newest records."""
    with open_book() as book:
        records = book.records(limit)
        for text in book.notices:
            show.note(text)
    if json_:
        show.as_json([_record_json(record) for record in records])
        return
    if not records:
        print("the book is empty")
    at_work = running_record(run_folder())
    for record in records:
        fate = "at work" if record.record_id == at_work else "interrupted"
        if record.fate and not record.extra_open:
            fate = record.fate.value
        marks = " ".join(record.marks) or "-"
        show.cut(f"{when(record.begun_at)}  {marks:6}  {fate:11}  {record.title}")


def _record_json(record: object) -> dict[str, object]:
    from controller.book.entries import Record

    assert isinstance(record, Record)
    return {
        "record_id": record.record_id,
        "kind": record.kind,
        "title": record.title,
        "marks": record.marks,
        "rig": record.rig,
        "begun_at": record.begun_at.isoformat(),
        "ended_at": record.ended_at.isoformat() if record.ended_at else None,
        "fate": record.fate.value if record.fate else None,
        "reason": record.reason,
        "extra_open": record.extra_open,
    }


def show_record(key: str, *, json_: bool) -> None:
    """Show one record."""
    with open_book() as book:
        page = book.record(key)
        prints = prints_of_record(book, page.record.record_id) if page is not None else []
    if page is None:
        raise BadInput(f"there is no record {key!r}", "book show", "one that book list shows")
    if json_:
        spec, plan = (msgspec.json.decode(t) for t in (page.record.spec, page.record.plan))
        whole = {**msgspec.to_builtins(page), "spec": spec, "plan": plan}
        whole["record"] = _record_json(page.record) | {"lamp": page.record.lamp}
        for run in whole["runs"]:
            run |= {key: msgspec.json.decode(run[key]) for key in ("plan", "spec")}
        whole["prints"] = msgspec.to_builtins(prints)
        show.as_json(whole)
        return
    told = prints_lines(prints)
    show.lines([*page_lines(page, when), *(["", *told] if told else [])])


def rest(
    key: str,
    *,
    moved: bool | None,
    spoiled: bool,
    rig: str | None,
    settings: Sequence[str],
    real_time: bool,
    by_hand: bool,
) -> None:
    """Give an interrupted sheet what it is owed, or mark it spoiled."""
    at_work = running_record(run_folder())
    with open_book() as book:
        left = [each for each in book.interrupted() if each.record.record_id != at_work]
        found = _find(left, key)
        record_id = found.record.record_id
        print(found.tell())
        if moved is None and not spoiled and found.mark:
            moved = _ask_moved()
        run = go_on_with(book, found, moved=bool(moved), spoiled=spoiled)
    if isinstance(run, str):
        print(run)
        return
    if not found.certain:
        show.note(UNCERTAIN)
    unit = unit_for(rig or _rig_of(found), settings)
    carry_out(unit, run, real_time=real_time, by_hand=by_hand)
    with open_book() as book:
        page = book.record(record_id)
    if page:
        show.lines(page_lines(page, when))


def _rig_of(found: Interrupted) -> str | None:
    from controller.rig.file import imagined_names

    return found.record.rig if found.record.rig in imagined_names() else None


def _find(interrupted: list[Interrupted], key: str) -> Interrupted:
    for found in interrupted:
        if (
            not key
            or key in (found.mark, *found.record.marks)
            or (len(key) >= 4 and found.record.record_id.startswith(key))
        ):
            return found
    what = f"no interrupted sheet {key!r}" if key else "nothing was interrupted"
    raise BadInput(what, "book rest", "a mark that `dryside book list` calls interrupted")


def _ask_moved() -> bool:
    if not sys.stdin.isatty():
        raise BadInput(
            "it must be known whether the sheet was moved", "book rest", "--moved or --not-moved"
        )
    answer = input("was the sheet moved, or has light reached it? [y/N] ").strip().lower()
    return answer.startswith("y")
