"""``dryside book compare`` and ``again``: two prints beside each other, and one taken up again."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from controller.book.prints_made import PRINT
from controller.book.whole import WholePrint, whole_print
from controller.boxes.convert import Region
from controller.chemistry.shelf import standing
from controller.chemistry.since import baths_since
from controller.errors import BadInput
from controller.score.again import changed_since, score_of_record, with_extras
from controller.score.differences import (
    Difference,
    differences,
    given_differences,
    in_few_lines,
    not_as_wanted,
)
from controller.score.doses import region_names
from controller.score.model import Score
from controller.score.report import score_lines, score_result
from ui import show
from ui.commands.paper_convert import densities_asked, regions_json
from ui.commands.score import score_json
from ui.converted import converted_by_book
from ui.room_then import old_tests
from ui.scores import keep, path_of
from ui.unit import open_book, unit_for

if TYPE_CHECKING:
    from controller.book.entries import Page
    from controller.score.convert import Wanted


def compare(first: str, second: str, *, json_: bool) -> None:
    """Lay two prints beside each other."""
    with open_book() as book:
        one, other = whole_print(book, first), whole_print(book, second)
        if one.print.print_id == other.print.print_id:
            raise BadInput("both are the same print", "book compare", "two prints")
        found = between(one, other)
        pages = [book.record(each.print.record_id) for each in (one, other)]
    given = _given((one, other), pages)
    if json_:
        show.as_json({"first": one.print, "second": other.print, "wanted": found, "given": given})
        return
    if one.print.negative != other.print.negative:
        show.note("these are not of one negative")
    print(f"{one.print.mark} -> {other.print.mark}: plus is more light in {other.print.mark}")
    regions = region_names(_score(other))
    show.lines(in_few_lines(found, regions))
    apart = not_as_wanted(found, given)
    if apart:
        print("what they really got beside that:")
        show.lines(f"  {line}" for line in in_few_lines(apart, regions))
    if not found and not given:
        print("no difference that the book knows of")


def between(one: WholePrint, other: WholePrint) -> list[Difference]:
    """Give every difference of two prints: their scores, and what was told of them since."""
    found = differences(_score(one), _score(other))
    told = (
        ("lamp", *(str(w.record.lamp) for w in (one, other))),
        ("rig", *(w.record.rig for w in (one, other))),
        ("developer at", *(_celsius(w) for w in (one, other))),
        ("dry", *(w.print.dry_note for w in (one, other))),
        ("rated", *(str(w.print.rating or "") for w in (one, other))),
    )
    return found + [Difference(what, was, is_) for what, was, is_ in told if was != is_]


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
        newest = book.records(1, PRINT)
        stand = standing(book, datetime.now(UTC))
    assert page is not None
    was, extras = with_extras(_score(whole), page, whole.print.mark)
    since = score_of_record(newest[0]) if newest else was
    unit = unit_for(rig, settings)
    changed = changed_since(page.record, was, unit.rig, since) + old_tests(unit.rig, was.paper.name)
    changed += baths_since(whole.baths, stand)
    lines = [f"with its {line}" for line in extras]
    score, regions = was, tuple[Region, ...]()
    if wanted is not None:
        tones = {one.region: one.density for one in whole.tones}
        converted = converted_by_book(
            was, wanted, tones=tones, densities=densities_asked(densities)
        )
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


def _score(whole: WholePrint) -> Score:
    if whole.score is None:
        right = "one whose score the book can read"
        raise BadInput(f"{whole.print.mark} has no score that can be read", "the book", right)
    return whole.score


def _given(both: Sequence[WholePrint], pages: Sequence[Page | None]) -> list[Difference]:
    """Compare what the regions of two prints really got, by record and calibration."""
    doses = [
        {
            region.name: region.counted_dose_s
            for region in score_result(page, _score(whole), mark=whole.print.mark).regions
        }
        for whole, page in zip(both, pages, strict=True)
        if page is not None
    ]
    return given_differences(doses[0], doses[1])


def _celsius(whole: WholePrint) -> str:
    at = whole.print.temperature_c
    return "" if at is None else f"{at:g} C"
