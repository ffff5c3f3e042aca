"""``dryside book compare`` and ``again``: two prints beside each other, and one taken up again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from controller.book.whole import whole_print
from controller.book_told.compared import compared, score_in
from controller.boxes.convert import Region
from controller.errors import BadInput
from controller.fields import tones_asked
from controller.score.again import with_extras
from controller.score.report import score_lines
from ui import show
from ui.commands.paper_convert import regions_json
from ui.commands.score import score_json
from ui.converted import converted_by_book
from ui.scores import keep, path_of
from ui.since import all_since
from ui.unit import open_book, unit_for

if TYPE_CHECKING:
    from controller.score.convert import Wanted


def compare(first: str, second: str, *, json_: bool) -> None:
    """Lay two prints beside each other."""
    with open_book() as book:
        found = compared(book, first, second)
    if json_:
        both = {"first": found.first.print, "second": found.second.print}
        show.as_json(both | {"wanted": found.wanted, "given": found.given})
        return
    if not found.one_negative:
        show.note("these are not of one negative")
    print(found.heading)
    show.lines(found.lines)


def again(
    key: str,
    wanted: Wanted | None,
    to: str,
    rig: str | None,
    settings: Sequence[str],
    *,
    densities: Sequence[str] = (),
    json_: bool,
) -> None:
    """Take a print up again: what has changed since, and its score, converted where asked."""
    with open_book() as book:
        whole = whole_print(book, key)
        page = book.record(whole.print.record_id)
        assert page is not None
        was, extras = with_extras(score_in(whole), page, whole.print.mark)
        changed = all_since(book, page, was, unit_for(rig, settings).rig, key)
    lines = [f"with its {line}" for line in extras]
    score, regions = was, tuple[Region, ...]()
    if wanted is not None:
        tones = {one.region: one.density for one in whole.tones}
        converted = converted_by_book(was, wanted, tones=tones, densities=tones_asked(densities))
        score, lines, regions = converted.score, [*lines, *converted.lines], converted.regions
    if to:
        path = path_of(to)
        if path.exists():
            raise BadInput("there is a score already", str(path), "another name")
        keep(score, path)
    if json_:
        show.as_json(
            {
                "changed": changed,
                "lines": lines,
                "regions": regions_json(regions),
                "score": score_json(score),
            }
        )
        return
    show.lines(changed or ["nothing that is known has changed since"])
    show.lines(lines)
    show.lines(["", *score_lines(score)])
    if to:
        print(f"score: {path_of(to)}; dryside score run {to} prints it")
    else:
        print("kept nowhere yet: --to NAME keeps it, and dryside score run NAME prints it")
