"""``dryside room read --scan``: what a scan of a sheet shows; the room keeps it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from controller.errors import BadInput
from controller.pictures.scan import coin_samples, find_sheet, load_scan, sample_parts
from controller.room.fog_sheets import (
    COIN_PROVES,
    REFERENCE,
    CoinCheck,
    FlashStrip,
    FogTest,
    WhichLight,
    WholeCycle,
)
from controller.room.model import Result
from controller.room.reading import fog_result, sheet_of, single_result, which_results
from controller.room.scanned import (
    Difference,
    differences,
    fog_by_scan,
    scan_lines,
    upside_down,
)
from controller.room.sheet_parts import COIN, COIN_MM, COVERED, AnySheet, parts_of
from ui import show
from ui.commands.room import local_now
from ui.commands.room_sheets import guilty_lines, keep_results, sheet_page, tell_known
from ui.exposing import Ways
from ui.rooms import open_room

AROUND = "the paper around it"


def read_scan(
    key: str, scan: str, ways: Ways, *, just_seen: float, turned: bool, json_: bool
) -> None:
    """Read a scanned sheet by its mark, and keep what it says. Raises BadInput."""
    page = sheet_page(key)
    test = sheet_of(page.record.kind, page.record.spec)
    found = differences_of(test, scan, just_seen=just_seen, turned=turned)
    results = results_of(test, found, local_now())
    room = keep_results(open_room(ways.unit().rig), results)
    if json_:
        show.as_json(
            {
                "just_seen": just_seen,
                "parts": [
                    {
                        "name": one.name,
                        "difference": one.value,
                        "uncertain": one.uncertain,
                        "changed": one.changed,
                        "sure": one.sure,
                    }
                    for one in found
                ],
                "results": [result.model_dump(mode="json") for result in results],
            }
        )
        return
    show.lines(scan_lines(found))
    if isinstance(test, WhichLight):
        show.lines(guilty_lines(test, {REFERENCE: 0.0} | {one.name: one.value for one in found}))
    if isinstance(test, CoinCheck):
        print(COIN_PROVES)
    tell_known(room, results)


def differences_of(
    test: AnySheet, scan: str, *, just_seen: float, turned: bool = False
) -> list[Difference]:
    """Give how far each part of a scanned sheet is from its reference. Raises BadInput."""
    import numpy as np

    light = find_sheet(load_scan(scan), test.width_mm, test.height_mm, scan).light
    if turned:
        light = np.rot90(light, 2)
    if isinstance(test, CoinCheck):
        around, coin = coin_samples(light, COIN_MM, test.width_mm, test.height_mm)
        # the paper is what light fell on, and what the coin covered is the reference
        return differences({COIN: coin, AROUND: around}, COIN, just_seen=just_seen, where=scan)
    if isinstance(test, FlashStrip):
        right = "nothing: give its exposure to --flash of the other tests"
        raise BadInput("a flash strip is not read", "room read", right)
    parts = parts_of(test)
    bounds = [(part.from_mm, part.to_mm) for part in parts]
    sampled = sample_parts(light, bounds, test.width_mm, scan)
    if not isinstance(test, FogTest) and upside_down(
        [one.value for one in sampled], just_seen=just_seen
    ):
        sampled = sample_parts(np.rot90(light, 2), bounds, test.width_mm, scan)
        show.note("the sheet was scanned upside down, and is read the right way round")
    samples = {part.name: one for part, one in zip(parts, sampled, strict=True)}
    reference = REFERENCE if REFERENCE in samples else COVERED
    return differences(samples, reference, just_seen=just_seen, where=scan)


def results_of(test: AnySheet, found: Sequence[Difference], when: date) -> list[Result]:
    """Give the results for the room of what a scan says."""
    match test:
        case FogTest():
            before, after = fog_by_scan(test, found)
            return [fog_result(test, test.lights, before, after, when, read="scan")]
        case WhichLight():
            changed = {one.name: one.changed for one in found}
            return which_results(test, changed, {n: n for n in test.lights}, when, read="scan")
        case CoinCheck() | WholeCycle():
            any_ = any(one.changed for one in found)
            return [single_result(test, test.lights, when, changed=any_, read="scan")]
    raise AssertionError(test)  # a flash strip was refused
