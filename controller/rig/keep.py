"""Keeping measured numbers in the rig file, with the user's own comments and order left alone."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import tomlkit
from tomlkit.items import Table

from controller.enlarger.lag_by_sensor import Seen
from controller.enlarger.lamp import Calibration
from controller.errors import BadInput
from controller.rig.file import imagined_names


def keep_lamp_numbers(asked: str, numbers: Calibration) -> str:
    """Write a lamp's two numbers into a rig file; gives its path, "" for an imagined rig.

    Raises BadInput where it cannot be written.
    """
    return _keep(asked, lambda document: _put_lamp(document, numbers))


def keep_seen_lamp(asked: str, sensor: str, seen: Seen) -> str:
    """Write what a sensor showed: the lamp's numbers, and how the sensor sees the lamp.

    Whether it ends exposures is left as it is; a new table says no. Gives the file's path, "" for
    an imagined rig. Raises BadInput where it cannot be written.
    """

    def put(document: tomlkit.TOMLDocument) -> None:
        _put_lamp(document, seen.lamp)
        table = document.get("integration")
        if not isinstance(table, Table):
            table = tomlkit.table()
            document["integration"] = table
            table["sensor"] = sensor
            table["ends_exposures"] = False
        table["sensor"] = sensor
        table["full_light"] = float(f"{seen.full:.5g}")
        table["dark"] = float(f"{max(0.0, seen.dark):.4g}")
        table["tail_s"] = round(seen.tail_s, 4)

    return _keep(asked, put)


def _put_lamp(document: tomlkit.TOMLDocument, numbers: Calibration) -> None:
    lamp = document["lamp"]
    assert isinstance(lamp, Table)
    lamp["cold_lag_s"] = round(numbers.cold_lag_s, 4)
    lamp["warm_gain_s2"] = round(numbers.warm_gain_s2, 5)


def _keep(asked: str, put: Callable[[tomlkit.TOMLDocument], None]) -> str:
    """Change a rig file in one step, so that a power cut leaves the old one or the new one."""
    if asked in imagined_names():
        return ""
    path = Path(asked)
    try:
        document = tomlkit.parse(path.read_text(encoding="utf-8"))
        put(document)
        part = path.with_name(path.name + ".part")
        with part.open("w", encoding="utf-8") as file:
            file.write(tomlkit.dumps(document))
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise BadInput(
            f"it cannot be written ({error.strerror})",
            asked,
            "a rig file of your own; the numbers are kept in the book all the same",
        ) from None
    return str(path)
