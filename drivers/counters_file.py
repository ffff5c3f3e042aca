"""The counters' file beside the book: every rig of this data folder, each of its outputs.

Whoever adds to it reads, adds and replaces it in one step under a lock, so that the engine and a
command may both do so.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TypeAlias

import msgspec

from controller.enlarger.counters import Count, Part, together
from controller.errors import BadInput

FILE = "counters.json"
Counts: TypeAlias = dict[str, dict[str, Count]]  # by rig and output


def read(folder: Path, rig: str) -> dict[str, Count]:
    """Give what the outputs of a rig have done. Raises BadInput where the file is damaged."""
    return _read(folder / FILE).get(rig, {})


def add(folder: Path, rig: str, new: Mapping[str, Count]) -> None:
    """Add what was done. Raises OSError, and BadInput where the file is damaged."""

    def change(counts: dict[str, Count]) -> None:
        counts.update(together(counts, new))

    _change(folder, rig, change)


def reset(folder: Path, rig: str, output: str, parts: Iterable[Part], day: str) -> None:
    """Begin anew for what was changed. Raises OSError, and BadInput where it is damaged."""

    def change(counts: dict[str, Count]) -> None:
        counts[output] = counts.get(output, Count()).changed(parts, day)

    _change(folder, rig, change)


def _change(folder: Path, rig: str, change: Callable[[dict[str, Count]], None]) -> None:
    path = folder / FILE
    with _locked(folder):
        all_counts = _read(path)
        change(all_counts.setdefault(rig, {}))
        part = path.with_name(path.name + ".part")
        with part.open("wb") as file:
            file.write(msgspec.json.format(msgspec.json.encode(all_counts), indent=1))
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)


def _read(path: Path) -> Counts:
    try:
        return msgspec.json.decode(path.read_bytes(), type=Counts)
    except FileNotFoundError:
        return {}
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise BadInput(
            f"the counters cannot be read ({error})", str(path), "a file that was moved away"
        ) from None


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    # a file of its own: the counters' is replaced, and a lock on it would go with the old one
    fd = os.open(folder / f"{FILE}.lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX)
        yield
    finally:
        os.close(fd)
