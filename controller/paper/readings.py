"""Readings of calibration sheets, from files of comma-separated values. Pure but for the file.

A file has a header that names its columns, in any order; others than the named are passed over.
Rows come in any order; empty ones and those that begin with # are comments.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from controller.errors import BadInput, quoted

LARGEST_LOG = 10.0  # of lux seconds: beyond any exposure that a sheet gets
LARGEST_DENSITY = 5.0
LEAST_DENSITY = -0.1  # a reading against paper white may come out a little below 0

_LIMITS = {
    "density": (LEAST_DENSITY, LARGEST_DENSITY, f"a density up to {LARGEST_DENSITY:g}"),
    "lux": (0.0, 1e6, "lux on the easel, such as 0.5"),
    "dose_s": (0.0, 1e6, "seconds of full light, such as 40"),
}


@dataclass(frozen=True)
class Reading:
    """One patch: its density, and the log10 exposures that made it (one, or soft and hard).

    ``line`` is where it stands in its file, 0 if it is from none.
    """

    log_exposures: tuple[float, ...]
    density: float
    line: int = 0

    @property
    def log_exposure(self) -> float:
        """The one log exposure of a patch made through one filter."""
        (only,) = self.log_exposures
        return only


def read_curve(path: Path) -> tuple[Reading, ...]:
    """Read a file of ``log_exposure,density``. Raises BadInput."""
    return read(path, ("log_exposure",))


def read_mixed(path: Path) -> tuple[Reading, ...]:
    """Read a file of ``soft_log_exposure,hard_log_exposure,density``. Raises BadInput."""
    return read(path, ("soft_log_exposure", "hard_log_exposure"))


def read_lux_and_seconds(path: Path) -> tuple[Reading, ...]:
    """Read a file of ``lux,dose_s,density``; its exposures become logarithms. Raises BadInput."""
    found = []
    for each in read(path, ("lux", "dose_s")):
        if min(each.log_exposures) <= 0.0:
            raise BadInput(
                "lux and seconds are above 0", f"{path}, line {each.line}", "such as 0.5,40,0.83"
            )
        logs = tuple(math.log10(value) for value in each.log_exposures)
        found.append(Reading(logs, each.density, each.line))
    return tuple(found)


def read(path: Path, exposures: Sequence[str]) -> tuple[Reading, ...]:
    """Read the named columns of exposures, and ``density``, from a file. Raises BadInput."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise BadInput("there is no such file", str(path), "a CSV file of readings") from None
    except (OSError, UnicodeDecodeError) as error:
        why = "it is not text" if isinstance(error, UnicodeDecodeError) else f"{error.strerror}"
        raise BadInput(f"cannot be read: {why}", str(path), "a CSV file of readings") from None
    return parse(text, str(path), exposures)


def parse(text: str, where: str, exposures: Sequence[str]) -> tuple[Reading, ...]:
    """Take readings from a text; ``where`` names it in what is said. Raises BadInput."""
    wanted = (*exposures, "density")
    rows = _rows(text)
    header_line, header = next(rows, (1, []))
    names = [name.strip().lower() for name in header]
    for name in wanted:
        if names.count(name) != 1:
            what = "there is no column" if name not in names else "there are two columns"
            raise BadInput(
                f"{what} {name!r}", f"{where}, line {header_line}", f"a header {','.join(wanted)}"
            )
    places = [names.index(name) for name in wanted]
    found = []
    for line, row in rows:
        if len(row) != len(names):
            raise BadInput(
                f"{len(row)} values under {len(names)} names", f"{where}, line {line}", "as many"
            )
        values = [
            _number(row[place], name, f"{where}, line {line}")
            for place, name in zip(places, wanted, strict=True)
        ]
        found.append(Reading(tuple(values[:-1]), values[-1], line))
    return tuple(found)


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    for line, written in enumerate(text.splitlines(), start=1):
        if written.strip() and not written.lstrip().startswith("#"):
            yield line, next(csv.reader([written]))


def _number(text: str, name: str, where: str) -> float:
    low, high, right = _LIMITS.get(name, (-LARGEST_LOG, LARGEST_LOG, "log10 of lux seconds: 0.85"))
    try:
        value = float(text)
    except ValueError:
        raise BadInput(f"{name} {quoted(text.strip())} is no number", where, right) from None
    if not math.isfinite(value) or not low <= value <= high:
        raise BadInput(f"{name} {quoted(text.strip())} cannot be", where, right)
    return value
