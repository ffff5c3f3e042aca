"""Keeping measured numbers in the rig file, with the user's own comments and order left alone."""

from __future__ import annotations

import os
from pathlib import Path

import tomlkit
from tomlkit.items import Table

from controller.errors import BadInput
from controller.lamp import Calibration
from controller.rig.file import imagined_names


def keep_lamp_numbers(asked: str, numbers: Calibration) -> str:
    """Write a lamp's two numbers into a rig file; gives its path, "" for an imagined rig.

    The file is replaced in one step, so that a power cut leaves the old one or the new one.
    Raises BadInput where it cannot be written.
    """
    if asked in imagined_names():
        return ""
    path = Path(asked)
    try:
        document = tomlkit.parse(path.read_text(encoding="utf-8"))
        lamp = document["lamp"]
        assert isinstance(lamp, Table)
        lamp["cold_lag_s"] = round(numbers.cold_lag_s, 4)
        lamp["warm_gain_s2"] = round(numbers.warm_gain_s2, 5)
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
