"""Who holds a GPIO line? Read from the kernel's list of open files.

Since Linux 5.19 (from memory of the kernel's history) ``/proc/PID/fdinfo`` of a line request
names its chip and its line. Other users' processes cannot be looked into, so an empty answer
means only that nobody was found.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple


class Holder(NamedTuple):
    """A process that holds a line."""

    pid: int
    command: str


def who_holds(chip: str, gpio: int, proc: Path = Path("/proc")) -> list[Holder]:
    """List the processes that hold this line of this chip ("gpiochip0")."""
    found: list[Holder] = []
    for folder in proc.glob("[0-9]*"):
        if _holds(folder, chip, gpio):
            found.append(Holder(int(folder.name), _text(folder / "comm").strip() or "unknown"))
    return sorted(found)


def _holds(folder: Path, chip: str, gpio: int) -> bool:
    try:
        numbers = [fd.name for fd in (folder / "fd").iterdir() if _is_line(fd)]
    except OSError:  # another user's, or it has just ended
        return False
    return any((chip, gpio) in _lines(_text(folder / "fdinfo" / number)) for number in numbers)


def _is_line(fd: Path) -> bool:
    try:
        return str(fd.readlink()).startswith("anon_inode:gpio-line")
    except OSError:
        return False


def _lines(fdinfo: str) -> list[tuple[str, int]]:
    """Read the lines that a request holds; one request may hold several."""
    rows = [row.partition(":") for row in fdinfo.splitlines()]
    chips = [value.strip() for key, _, value in rows if key == "gpio-chip"]
    gpios = [value.strip() for key, _, value in rows if key == "gpio-line"]
    return [(chip, int(gpio)) for chip in chips for gpio in gpios if gpio.isdigit()]


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
