"""``dryside paper read`` and ``scan``: what a dry calibration sheet became."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from controller.boxes.asked import AskedEye, seen_asked
from controller.boxes.measured import densities_asked, require_rising
from controller.boxes.model import How, Point
from controller.boxes.scanned import scan_points
from controller.boxes.sheets_made import (
    Kept,
    MadeSheet,
    eye_points,
    keep_sheet,
    sheet_made,
    typed_points,
)
from controller.boxes.told import point_lines, range_note
from controller.errors import BadInput, quoted
from controller.ports import PortFault, Quantity, Reading
from drivers.found import open_sensor
from drivers.places import run_folder
from ui import show
from ui.commands.paper_keep import told, typed_or_file
from ui.unit import open_book, unit_for

WAIT_S, WAITS = 0.05, 30  # for a reading that is newer than the one before


@dataclass(frozen=True)
class AskedReading:
    """A reading as it was typed."""

    densities: Sequence[str] = ()
    meter: str = ""
    by_eye: str = ""
    grey: str = ""
    white: str = ""
    black: str = ""


def read(
    mark: str,
    asked: AskedReading,
    rig: str | None,
    settings: Sequence[str],
    *,
    control: bool,
    note: str,
    json_: bool,
) -> None:
    """Keep what a sheet became, as it was typed, measured or seen. Raises BadInput."""
    ways = [bool(asked.densities), bool(asked.meter), bool(asked.by_eye)]
    if sum(ways) != 1:
        right = "one of --densities, --meter and --by-eye"
        raise BadInput("it is not said how the sheet was read", "paper read", right)
    made = _made(mark)
    if asked.by_eye:
        points, seen = eye_points(
            made, seen_asked(AskedEye(asked.by_eye, asked.grey, asked.white, asked.black))
        )
        kept = _keep(made, points, How.BY_EYE, control=control, note=note or range_note(seen))
        _tell(made, kept, [seen.tell()], json_=json_)
        return
    if asked.meter:
        times = [_metered(made, asked.meter, rig, settings)]
    else:
        times = [
            densities_asked(typed_or_file(text, "--densities"), made.sheet)
            for text in asked.densities
        ]
    points = typed_points(made, times)
    kept = _keep(made, points, How.DENSITOMETER, control=control, note=note)
    _tell(made, kept, [], json_=json_)


def scan(
    mark: str, file: str, tablet: str, *, below: bool, control: bool, note: str, json_: bool
) -> None:
    """Read a scan of a sheet beside a tablet, and keep it. Raises BadInput."""
    made = _made(mark)
    typed = typed_or_file(tablet, "--tablet")
    points, warnings = scan_points(made, file, typed, below=below)
    kept = _keep(made, points, How.SCAN, control=control, note=note)
    _tell(made, kept, warnings, json_=json_)


def meter_patches(
    labels: Sequence[str],
    read_one: Callable[[], Reading],
    ask: Callable[[str], str],
    wait: Callable[[float], object] = time.sleep,
) -> list[float | None]:
    """Read patch by patch; ``ask`` shows a prompt and gives what was typed: - leaves one out.

    No reading counts twice: a meter's newest may still be that of the patch before. A patch that
    gives none is asked for again, and costs nothing that was read before it. Raises BadInput where
    the sensor is no densitometer.
    """
    found: list[float | None] = []
    last_ns: int | None = None
    for label in labels:
        density = None
        while ask(f"probe on patch {label}, then enter (- leaves it out): ").strip() != "-":
            try:
                reading = _newer(read_one, last_ns, wait)
            except PortFault as fault:
                print(f"  {label}: {fault}; once more", file=sys.stderr)
                continue
            density, last_ns = round(reading.value, 3), reading.at_ns
            print(f"  {label}: {reading.value:.2f}", file=sys.stderr)
            break
        found.append(density)
    return found


# --- inside -----------------------------------------------------------------------------------


def _made(mark: str) -> MadeSheet:
    with open_book() as book:
        return sheet_made(book, mark)


def _newer(
    read_one: Callable[[], Reading], last_ns: int | None, wait: Callable[[float], object]
) -> Reading:
    """Read a density that was not taken before. Raises PortFault where none comes."""
    for _ in range(WAITS):
        reading = read_one()
        if reading.quantity is not Quantity.DENSITY:
            right = "a sensor whose unit is density"
            raise BadInput(f"it reads {reading.quantity.value}", "--meter", right)
        if reading.at_ns != last_ns:
            return reading
        wait(WAIT_S)
    raise PortFault("nothing new came since the patch before; measure, then enter")


def _metered(
    made: MadeSheet, name: str, rig: str | None, settings: Sequence[str]
) -> list[float | None]:
    unit = unit_for(rig, settings)
    sensor = next((one for one in unit.rig.sensor if one.name == name), None)
    if sensor is None:
        known = ", ".join(one.name for one in unit.rig.sensor) or "none: add a [[sensor]]"
        raise BadInput(f"the rig has no sensor {quoted(name)}", "--meter", known)
    opened = open_sensor(unit.rig, sensor, run_folder())

    def ask(prompt: str) -> str:
        print(prompt, end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            right = "a terminal, or a line for each patch"
            raise BadInput("the input ended before the last patch", "--meter", right)
        return line

    try:
        densities = meter_patches([one.label for one in made.patches], opened.read, ask)
    except PortFault as fault:
        raise BadInput(str(fault), "--meter", "the probe on the patch, and a reading") from None
    finally:
        opened.close()
    require_rising(made.sheet, densities, "--meter")
    return densities


def _keep(
    made: MadeSheet, points: tuple[Point, ...], how: How, *, control: bool, note: str
) -> Kept:
    with open_book() as book:
        return keep_sheet(book, made, points, how, control=control, note=note)


def _tell(made: MadeSheet, kept: Kept, said: Sequence[str], *, json_: bool) -> None:
    if json_:
        show.as_json({"reading": kept.reading, "curve": kept.curve, "warnings": list(said)})
        return
    print(f"{made.mark}: {made.sheet.title()}, {kept.reading.how.value}")
    show.lines(point_lines(kept.reading.points))
    show.lines([*said, *told(kept)])
    print(f"kept for {made.batch.handle}")
