"""From a sheet that proves a room to a result: by eye, or by densities. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from controller.errors import BadInput
from controller.room.change import result_of
from controller.room.fog_sheets import (
    REFERENCE,
    TOGETHER,
    CoinCheck,
    FlashStrip,
    FogTest,
    WhichLight,
    WholeCycle,
)
from controller.room.limits import Reading
from controller.room.model import Result, ResultKind
from controller.room.steps import read_by_eye, read_densities

NONE = ("none", "no", "-")
RIGHT_STEP = "the number of the first step that can be told from the reference, or none"
FogSheet = FogTest | WhichLight | CoinCheck | WholeCycle | FlashStrip
SHEETS: dict[str, type[FogTest | WhichLight | CoinCheck | WholeCycle | FlashStrip]] = {
    "fog test": FogTest,
    "which light": WhichLight,
    "coin check": CoinCheck,
    "whole cycle": WholeCycle,
    "flash strip": FlashStrip,
}


def sheet_of(kind: str, spec: str) -> FogSheet:
    """Read the sheet that a record was made from; its kind must be one of ``SHEETS``."""
    return SHEETS[kind].model_validate_json(spec)


def step_asked(text: str, option: str) -> int | None:
    """Read the first changed step as somebody types it; None where no step was. Raises BadInput."""
    plain = text.strip().lower()
    if plain in NONE:
        return None
    if not plain.isdigit() or int(plain) < 1:
        raise BadInput(f"{text!r} is no step", option, RIGHT_STEP)
    return int(plain)


def fog_result(
    test: FogTest,
    lights: Sequence[str],
    before: Reading,
    after: Reading,
    when: date,
    *,
    read: str = "eye",
) -> Result:
    """Give the result of a fog test of some lights of the room."""
    tables = _tables(test.place, lights, test.paper, when, ResultKind.FOG, read)
    tables |= {"before": _read(before), "after": _read(after)}
    return result_of(tables)


def fog_by_eye(test: FogTest, before: int | None, after: int | None) -> tuple[Reading, Reading]:
    """Read a fog test by the first step on each side that can be told. Raises BadInput."""
    return read_by_eye(test.steps_s, before), read_by_eye(test.steps_s, after)


def fog_by_density(test: FogTest, densities: Mapping[str, float]) -> tuple[Reading, Reading]:
    """Read a fog test by the density of each patch, by its name. Raises BadInput."""
    missing = [name for name in test.names() if name not in densities]
    if missing:
        right = f"one for each of {', '.join(test.names())}"
        raise BadInput(f"there is no density of {missing[0]}", "densities", right)
    reference = densities[REFERENCE]
    steps = range(1, len(test.steps_s) + 1)
    before, after = (
        read_densities(test.steps_s, [densities[f"{side} {n}"] for n in steps], reference)
        for side in ("before", "after")
    )
    return before, after


def which_results(
    test: WhichLight,
    changed: Mapping[str, bool],
    names: Mapping[str, str],
    when: date,
    *,
    read: str = "eye",
) -> list[Result]:
    """Give a result for each column: changed within its one time, or not.

    ``changed`` says by column whether it can be told from the reference; ``names`` gives the
    light of the room for each light of the sheet.
    """
    results = []
    for column, seen in changed.items():
        lights = test.lights if column == TOGETHER else (column,)
        tables = _tables(
            test.place, [names[one] for one in lights], test.paper, when, ResultKind.WHICH, read
        )
        reading = Reading(None, test.time_s) if seen else Reading(test.time_s, None)
        results.append(result_of(tables | {"after": _read(reading)}))
    return results


def single_result(
    test: CoinCheck | WholeCycle, lights: Sequence[str], when: date, *, changed: bool
) -> Result:
    """Give the result of a sheet with one step: a coin, or the whole cycle."""
    kind = ResultKind.QUICK if isinstance(test, CoinCheck) else ResultKind.CYCLE
    reading = Reading(None, test.time_s) if changed else Reading(test.time_s, None)
    side = "before" if isinstance(test, CoinCheck) else "after"
    tables = _tables(test.place, lights, test.paper, when, kind, "eye")
    return result_of(tables | {side: _read(reading)})


def darkest(differences: Mapping[str, float]) -> list[str]:
    """Name the lights by how much their columns differ, the guiltiest first."""
    alone = {name: one for name, one in differences.items() if name not in (REFERENCE, TOGETHER)}
    return sorted(alone, key=lambda name: -abs(alone[name]))


def _tables(
    place: str, lights: Sequence[str], paper: str, when: date, kind: ResultKind, read: str
) -> dict[str, Any]:
    return {
        "lights": tuple(lights),
        "at": place,
        "paper": paper,
        "date": when,
        "kind": kind,
        "read": read,
    }


def _read(reading: Reading) -> dict[str, float]:
    tables = {"clean_s": reading.clean_s, "changed_s": reading.changed_s}
    return {key: value for key, value in tables.items() if value is not None}
