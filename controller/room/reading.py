"""From a sheet that proves a room to a result: by eye, or by densities. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from controller.errors import BadInput
from controller.room.change import result_of
from controller.room.fog_sheets import (
    BRIEFLY,
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
from controller.room.steps import JUST_SEEN, read_by_eye, read_densities
from controller.room.sums import Guilty

NONE = ("none", "no", "-")
# Columns so much darker than a light grey come to the paper's black, where they grow alike.
ALIKE = 0.8
MARGIN = 1.5
LONGEST_COLUMN_S = 4 * 3600.0
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
    """Give a result for each light, and one for all together: changed within its time, or not.

    ``changed`` says by column whether it can be told from the reference; ``names`` gives the
    light of the room for each light of the sheet.
    """
    results = []
    for column in changed:
        if column == BRIEFLY and TOGETHER in changed:
            continue  # it is read with the longer one
        seen = (BRIEFLY, TOGETHER) if column == TOGETHER else (column,)
        reading = _reading({test.column_s(one): changed[one] for one in seen if one in changed})
        lights = [names[one] for one in test.burning(column)]
        tables = _tables(test.place, lights, test.paper, when, ResultKind.WHICH, read)
        results.append(result_of(tables | {"after": _read(reading)}))
    return results


def single_result(
    test: CoinCheck | WholeCycle,
    lights: Sequence[str],
    when: date,
    *,
    changed: bool,
    read: str = "eye",
) -> Result:
    """Give the result of a sheet with one step: a coin, or the whole cycle."""
    kind = ResultKind.QUICK if isinstance(test, CoinCheck) else ResultKind.CYCLE
    reading = Reading(None, test.time_s) if changed else Reading(test.time_s, None)
    side = "before" if isinstance(test, CoinCheck) else "after"
    tables = _tables(test.place, lights, test.paper, when, kind, read)
    return result_of(tables | {side: _read(reading)})


def darkest(differences: Mapping[str, float]) -> list[str]:
    """Name the lights by how much their columns differ, the guiltiest first."""
    alone = {n: one for n, one in differences.items() if n not in (REFERENCE, TOGETHER, BRIEFLY)}
    return sorted(alone, key=lambda name: -abs(alone[name]))


def guilty_column(
    differences: Mapping[str, float], *, just_seen: float = JUST_SEEN
) -> Guilty | None:
    """Name the light whose column differs most, and those that cannot be told from it.

    None where no column differs by as much as can be seen.
    """
    order = darkest(differences)
    if not order or abs(differences[order[0]]) < just_seen - 1e-9:
        return None
    first = abs(differences[order[0]])
    rivals = [name for name in order[1:] if first - abs(differences[name]) < just_seen - 1e-9]
    return Guilty(order[0], tuple(rivals))


def columns_against(
    differences: Mapping[str, float], *, just_seen: float = JUST_SEEN
) -> tuple[str, ...]:
    """Tell how the column of all together contradicts the single ones, by their densities.

    Changed or not is not enough to see it where the single columns have changed as well. Margins
    of half again are left for columns that lie nearer to a light, and for the curve's bend: in a
    hundred imagined rooms no honest sheet comes near them (our choice).
    """
    if TOGETHER not in differences:
        return ()
    whole = abs(differences[TOGETHER])
    alone = {name: abs(differences[name]) for name in darkest(differences)}
    name, most = next(iter(alone.items()))
    if most - whole >= just_seen and MARGIN * whole < most:
        return (
            f"all together is lighter than {name} alone, and light cannot take light away: "
            f"{name} was dark while all should have burned, or another light burned with it",
            "nothing is averaged: the shorter time is kept, and the sheet is to be made again",
        )
    if whole > MARGIN * (sum(alone.values()) + just_seen):
        return (
            "all together is darker than the single columns add up to: a light that is not "
            "listed burned as well, or one was off in its own column",
            "nothing is averaged: the shorter time is kept, and the sheet is to be made again",
        )
    return ()


def another_time_s(
    test: WhichLight, differences: Mapping[str, float], *, just_seen: float = JUST_SEEN
) -> float | None:
    """Give a time with which another sheet tells the lights apart better; None: this one does.

    Four times longer where too little was seen, and four times shorter where the darkest columns
    are near black and so alike (our choice). None as well where no longer time is to be had.
    """
    found = guilty_column(differences, just_seen=just_seen)
    if found is not None and found.certain:
        return None
    if found is not None and abs(differences[found.name]) > ALIKE:
        return test.time_s / 4
    return min(4 * test.time_s, LONGEST_COLUMN_S) if test.time_s < LONGEST_COLUMN_S else None


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


def _reading(seen: Mapping[float, bool]) -> Reading:
    """Make one reading of times of the same lights, each changed or not."""
    changed_s = min((time_s for time_s, one in seen.items() if one), default=None)
    clean_s = [time_s for time_s, one in seen.items() if not one]
    # clean after longer than another was changed: the cautious reading
    if changed_s is not None:
        clean_s = [time_s for time_s in clean_s if time_s < changed_s]
    return Reading(max(clean_s, default=None), changed_s)


def _read(reading: Reading) -> dict[str, float]:
    tables = {"clean_s": reading.clean_s, "changed_s": reading.changed_s}
    return {key: value for key, value in tables.items() if value is not None}
