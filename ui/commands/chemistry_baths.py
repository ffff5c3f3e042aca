"""``dryside chemistry made`` and its neighbours: the baths that stand in the darkroom."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta

from controller.chemistry.amounts import plain, volume_ml
from controller.chemistry.bath import Base, Bath, Place, Role
from controller.chemistry.dilution import dilution_of
from controller.chemistry.evening import Missing, evening, evening_lines
from controller.chemistry.freshness import Status, eights, hours_left
from controller.chemistry.product import Product, find_product, load_products
from controller.chemistry.shelf import (
    FIRST,
    SECOND,
    bath_of,
    count_sheet,
    discarded,
    find,
    history,
    sets,
    sheet_area_m2,
    standing,
    to_clean,
)
from controller.chemistry.shelf import cleaned as tray_cleaned
from controller.chemistry.shelf import made as bath_made
from controller.chemistry.shelf import moved as bath_moved
from controller.chemistry.shelf import rotate as rotate_baths
from controller.chemistry.shelf import set_of_two as two_baths
from controller.chemistry.tonight import Edition, Need
from controller.chemistry.words import bath_lines, left_words, span, what_to_do
from controller.errors import BadInput, quoted
from controller.fields import size_asked
from controller.numbered import numbered
from controller.trays.process import Process, process_named
from drivers.engine_trays import chosen_last
from drivers.places import book_path, config_folder
from ui import show
from ui.unit import open_book, unit_for

_PLACES = {"tray": Place.TRAY, "full": Place.FULL, "half": Place.HALF}
NOTHING = "no bath is kept; put one down with: dryside chemistry made PRODUCT --volume 1000"


def made(
    product: str,
    volume: str,
    tray: str,
    place: str,
    at: str,
    dilution: str,
    *,
    set_of_two: bool,
    replace: bool,
    json_: bool,
) -> None:
    """Put down a bath, or a set of two."""
    of = _product(product, "chemistry made")
    amount = float(volume_ml(volume, "--volume"))
    when, where = _time(at), _place(place, "--in")
    parts = dilution_of(dilution, "--dilution").parts if dilution else ""
    baths: tuple[Bath, ...]
    if set_of_two:
        if tray or where is not Place.TRAY:
            right = f"neither: they are called {FIRST} and {SECOND}"
            raise BadInput("a set of two has its own names and trays", "--tray, --in", right)
        baths = two_baths(of, amount, when, dilution=parts)
    else:
        baths = (bath_of(of, amount, when, tray=tray, place=where, dilution=parts),)
    with open_book() as book:
        for before in bath_made(book, *baths, over=replace):
            show.note(f"{before.tray}: the former bath is put down as poured out")
        found = standing(book, _later(when))
    _tell([find(found, bath.tray, "--tray") for bath in baths], json_=json_)


def used(
    trays: list[str], sheets: int, size: str, base: str, mark: str, at: str, *, json_: bool
) -> None:
    """Count sheets by hand."""
    width_mm, height_mm = size_asked(size or "8x10in", "--size")
    area_m2, on, when = width_mm * height_mm / 1e6, _base(base), _time(at)
    mark = mark.strip().upper()
    with open_book() as book:
        if mark and not size and (own_m2 := sheet_area_m2(book, mark)):
            area_m2 = own_m2
        for tray in trays:  # all are looked for before any is counted
            find(standing(book, when), tray, "chemistry used")
        for tray in trays:
            count_sheet(
                book, tray=tray, area_m2=area_m2, base=on, mark=mark, at=when, sheets=sheets
            )
        found = standing(book, _later(when))
    _tell([find(found, tray, "chemistry used") for tray in trays], json_=json_)


def check(*, json_: bool) -> None:
    """Say where every bath stands."""
    now = datetime.now(UTC)
    with open_book() as book:
        found = standing(book, now)
        dirty = to_clean(book, [each.tray for each in found])
    rotations = [
        {"first": first.tray, "second": second.tray if second else None,
         "move": why.move.value, "why": why.why}
        for first, second, why in sets(found, now)
    ]  # fmt: skip
    if json_:
        baths = [_json(each) for each in found]
        show.as_json({"baths": baths, "rotation": rotations, "to_clean": dirty})
        return
    if not found:
        print(NOTHING)
    for each in found:
        show.lines(bath_lines(each))
    show.lines(f"two baths: {each['move']}; {each['why']}" for each in rotations)
    show.lines(dirty)


def past(limit: int, *, json_: bool) -> None:
    """List every bath there was."""
    with open_book() as book:
        found = history(book, datetime.now(UTC), limit)
    if json_:
        show.as_json({"baths": [{**_json(each), "discarded": each.discarded} for each in found]})
        return
    if not found:
        print(NOTHING)
    for each in found:
        end = "poured out" if each.discarded else "stands there"
        paper = f"{numbered(each.sheets, 'sheet')}, {eights(each.area_m2):.3g} of 8x10"
        at = show.when(each.bath.made_at)
        show.cut(
            f"{at}  {each.tray:14} {each.bath.product:20} {span(each.age_h):>8}  {paper}, {end}"
        )


def move(tray: str, place: str, at: str, *, json_: bool) -> None:
    """Put down where a bath is now."""
    when = _time(at)
    with open_book() as book:
        _tell([bath_moved(book, tray, _place(place, "place"), when)], json_=json_)


def rotate(product: str, volume: str, at: str, *, anyway: bool, json_: bool) -> None:
    """Rotate two fixing baths."""
    when = _time(at)
    amount = float(volume_ml(volume, "--volume")) if volume else None
    with open_book() as book:
        pairs = sets(standing(book, when), when)
        second = next((two for _, two, _ in pairs if two is not None), None)
        name = product or (second.bath.product if second else "fixer in two baths")
        of = _product(name, "chemistry rotate")
        amount = amount or (second.bath.volume_ml if second else 1000.0)
        done = rotate_baths(book, of, amount, when, anyway=anyway)
        found = [each for each in standing(book, _later(when)) if each.role is not Role.ALONE]
    if not json_:
        print(f"the second is the first now, and a fresh one the second ({done.why})")
    _tell(found, json_=json_)


def discard(tray: str, at: str, *, json_: bool) -> None:
    """Put down that a bath is gone."""
    with open_book() as book:
        gone = discarded(book, tray, _time(at))
    if json_:
        show.as_json(_json(gone))
    else:
        print(f"{gone.tray}: put down as poured out; where it goes is for local rules to say")


def cleaned(tray: str, at: str) -> None:
    """Put down that a tray was cleaned."""
    if not tray.strip():
        raise BadInput("no tray is named", "chemistry cleaned", "one such as developer")
    with open_book() as book:
        tray_cleaned(book, tray, _time(at))
    print(f"{tray}: cleaned")


def tonight(sheets: int, size: str, base: str, hours: float, process: str, *, json_: bool) -> None:
    """Say for each bath of a process whether it is enough."""
    width_mm, height_mm = size_asked(size, "--size")
    if math.isnan(hours):
        raise BadInput("nan is no length of an evening", "--hours", "hours such as 4")
    edition = Edition(sheets, width_mm * height_mm / 1e6, _base(base), hours)
    now, products = datetime.now(UTC), load_products(config_folder()).values()
    with open_book() as book:
        here = standing(book, now)
    way = _process(process, edition.base, here)
    trays = [step.name for step in way.steps if step.time_s is not None]
    found = evening(here, trays, edition, products, now)
    if json_:
        baths = [each for each in found if isinstance(each, Need)]
        missing = [each for each in found if isinstance(each, Missing)]
        show.as_json(
            {
                "process": way.name,
                "enough": not missing and all(each.enough for each in baths),
                "baths": [_need_json(each) for each in baths],
                "missing": [_missing_json(each) for each in missing],
            }
        )
        return
    what = f"{numbered(sheets, 'sheet')} of {width_mm:g} x {height_mm:g} mm"
    print(f"{way.name}, for {what}:")
    for each in found:
        show.lines(evening_lines(each))


# --- inside ---------------------------------------------------------------------------------


def _tell(found: list[Status], *, json_: bool) -> None:
    if json_:
        show.as_json({"baths": [_json(each) for each in found]})
        return
    for each in found:
        show.lines(bath_lines(each))


def _json(at: Status) -> dict[str, object]:
    return {
        "tray": at.tray,
        "product": at.bath.product,
        "kind": at.bath.kind.value,
        "dilution": at.bath.dilution,
        "volume_ml": at.bath.volume_ml,
        "place": at.place.value,
        "role": at.role.value,
        "made_at": at.bath.made_at.isoformat(),
        "age_h": at.age_h,
        "life_share": at.life_share,
        "hours_left": hours_left(at),
        "sheets": at.sheets,
        "area_m2": at.area_m2,
        "eights": eights(at.area_m2),
        "capacity_share": at.capacity_share,
        "share": at.share,
        "state": at.state.value,
        "promotions": at.promotions,
        "left": left_words(at),
        "to_do": what_to_do(at),
    }


def _need_json(found: Need) -> dict[str, object]:
    more = found.more
    return {
        "tray": found.status.tray,
        "enough": found.enough,
        "takes_sheets": found.takes,
        "lasts_h": found.lasts_h,
        "fresh_baths": found.fresh_baths,
        "mix_ml": plain(more.volume_ml) if more else 0,
        "concentrate_ml": plain(more.concentrate_ml) if more else 0,
        "water_ml": plain(more.water_ml) if more else 0,
    }


def _missing_json(found: Missing) -> dict[str, object]:
    more = found.more
    return {
        "tray": found.tray,
        "product": found.product,
        "baths": found.baths,
        "mix_ml": plain(more.volume_ml) if more else 0,
        "concentrate_ml": plain(more.concentrate_ml) if more else 0,
        "water_ml": plain(more.water_ml) if more else 0,
    }


def _process(name: str, base: Base, here: list[Status]) -> Process:
    """Find tonight's process: as asked, as the trays count, else as base and baths tell."""
    rig = unit_for(None, ()).rig
    known = rig.processes()
    name = name or rig.trays.process
    if name:
        return process_named(name, known)
    chosen = known.get(chosen_last(book_path().parent).process)
    if chosen is not None and chosen.base == base.value:
        return chosen
    if base is Base.FIBRE and any(each.role is not Role.ALONE for each in here):
        return known["two-bath"]
    return known[base.value]


def _product(name: str, where: str) -> Product:
    return find_product(load_products(config_folder()), name, where)


def _place(text: str, where: str) -> Place:
    if text.strip().lower() not in _PLACES:
        raise BadInput(f"{quoted(text)} is no place of a bath", where, "tray, full or half")
    return _PLACES[text.strip().lower()]


def _base(text: str) -> Base:
    try:
        return Base(text.strip().lower())
    except ValueError:
        raise BadInput(f"{quoted(text)} is no base", "--base", "fibre or resin-coated") from None


def _time(text: str) -> datetime:
    """Read when something was: now, so long ago, or a local date and time."""
    now = datetime.now(UTC)
    if not text:
        return now
    right = "3h or 2d for so long ago, or a time that is past, such as 2026-05-01 19:30"
    if found := re.fullmatch(r"([0-9]{1,5})(min|h|d)", text.strip()):
        unit = {"min": "minutes", "h": "hours", "d": "days"}[found[2]]
        return now - timedelta(**{unit: int(found[1])})
    try:
        at = datetime.fromisoformat(text.strip()).astimezone(UTC)
    except (ValueError, OverflowError, OSError):
        raise BadInput(f"{quoted(text)} is no time", "--at", right) from None
    if at > now:
        raise BadInput(f"{quoted(text)} is yet to come", "--at", right)
    return at


def _later(when: datetime) -> datetime:
    """Judge a bath as it stands now, not when what was put down happened."""
    return max(when, datetime.now(UTC))
