"""A relay board that is a text file: every edge is one line, ``monotonic_ns name level lit``.

It behaves as lines of a Raspberry Pi do: one owner at a time, held by the kernel's lock on the
file, so that a dead owner lets go; lines keep their last level when it does; claiming sets the
safe level in the same step, and makes no edge where the line already has it. A line that was
never switched is de-energised.

Loaded in the keeper's process: nothing heavy may be imported here.

Options:

``wire``
    path of the file (made if missing).
``fail``
    faults to inject, a text or a list: ``open-fails``; ``write-fails-after=N`` (the first N
    writes work, the rest raise); ``write-fails-once=N`` (only the one after N raises);
    ``stuck`` (a welded contact: writes do nothing, reading back tells so); ``blind`` (cannot be
    read back); ``write-takes-ms=N``.
"""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Mapping, Sequence

from controller.ports import Line, PortFault

_WORDS = ("open-fails", "stuck", "blind")
_NUMBERED = ("write-fails-after", "write-fails-once", "write-takes-ms")


class Faults:
    """The faults to inject, taken from words."""

    def __init__(self, option: object) -> None:
        words = option.replace(",", " ").split() if isinstance(option, str) else option
        if not isinstance(words, list | tuple) or not all(isinstance(w, str) for w in words):
            raise PortFault(f"option fail = {option!r}: it should be words, such as 'stuck'")
        self._numbers: dict[str, int] = {}
        for word in words:
            name, _, number = word.partition("=")
            if name in _NUMBERED and number.isdigit():
                self._numbers[name] = int(number)
            elif word in _WORDS:
                self._numbers[word] = 1
            else:
                known = ", ".join([*_WORDS, *(f"{name}=N" for name in _NUMBERED)])
                raise PortFault(f"option fail: {word!r} is not known; right would be {known}")

    def has(self, word: str) -> bool:
        """Is this fault asked for?"""
        return word in self._numbers

    def number(self, word: str) -> int | None:
        """Give the number behind a word."""
        return self._numbers.get(word)


class Wire:
    """The file: its lock is the kernel's claim, its last lines are the levels."""

    def __init__(self, lines: Sequence[Line], options: Mapping[str, object]) -> None:
        path = options.get("wire")
        if not isinstance(path, str) or not path:
            raise PortFault(
                f"option wire = {path!r}: the imagined board needs the path of a file, "
                'such as wire = "edges.txt"'
            )
        for line in lines:
            if not line.name or line.name.split() != [line.name]:
                raise PortFault(f"output {line.name!r}: its name should be one word")
        self.path = path
        self.lines = {line.name: line for line in lines}
        try:
            self._file = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC, 0o600)
        except OSError as fault:
            raise PortFault(f"{path}: the wire cannot be opened ({fault.strerror})") from None

    def claim(self) -> bool:
        """Become the only owner; False while another one is."""
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def free(self) -> None:
        """Let go of the claim."""
        fcntl.flock(self._file, fcntl.LOCK_UN)

    def close(self) -> None:
        """Close the file, which lets go of the claim too."""
        if self._file >= 0:
            os.close(self._file)
            self._file = -1

    def levels(self) -> dict[str, int]:
        """Read the level of every line as the file tells it."""
        levels = {line.name: line.level(line.safe_lit) for line in self.lines.values()}
        size = os.fstat(self._file).st_size
        for text in os.pread(self._file, size, 0).decode(errors="replace").splitlines():
            match text.split():
                case [_, name, ("0" | "1") as level, _] if name in levels:
                    levels[name] = int(level)
        return levels

    def put(self, line: Line, lit: bool) -> None:
        """Set one line. Raises OSError."""
        text = f"{time.monotonic_ns()} {line.name} {line.level(lit)} {int(lit)}\n"
        os.write(self._file, text.encode())

    def make_safe(self) -> dict[str, int]:
        """Set every line that is not safe to its safe level; gives the levels. Raises OSError."""
        levels = self.levels()
        for line in self.lines.values():
            safe = line.level(line.safe_lit)
            if levels[line.name] != safe:
                self.put(line, line.safe_lit)
                levels[line.name] = safe
        return levels


class BoardOutputs:
    """The board in the hands of its only owner (``controller.ports.Outputs``)."""

    def __init__(self, wire: Wire, faults: Faults) -> None:
        self._wire = wire
        self._faults = faults
        self._writes = 0
        self._levels = wire.make_safe()

    def write(self, name: str, lit: bool) -> None:
        """Switch one light. Raises PortFault where asked to fail, and when the file is lost."""
        line = self._wire.lines[name]
        self._writes += 1
        takes_ms = self._faults.number("write-takes-ms")
        if takes_ms:
            time.sleep(takes_ms / 1e3)
        after, once = (self._faults.number(f"write-fails-{word}") for word in ("after", "once"))
        if (after is not None and self._writes > after) or once == self._writes - 1:
            raise PortFault(f"output {name!r}: the board did not answer (as it was asked to)")
        if self._faults.has("stuck") or self._levels[name] == line.level(lit):
            return
        try:
            self._wire.put(line, lit)
        except OSError as fault:
            raise PortFault(f"{self._wire.path}: {fault.strerror}") from None
        self._levels[name] = line.level(lit)

    def read(self, name: str) -> bool | None:
        """Tell whether a light is lit; None from a board that is blind."""
        if self._faults.has("blind"):
            return None
        line = self._wire.lines[name]
        return self._levels[name] == line.level(True)

    def close(self) -> None:
        """Let go of every line, as it is."""
        self._wire.close()


class BoardRescuer:
    """Takes a dead owner's lines (``controller.ports.Rescuer``); the file is already open."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    def make_safe(self, deadline_ns: int) -> bool:
        """Claim every line at its safe level, trying every millisecond until time is up."""
        while not self._wire.claim():
            if time.monotonic_ns() >= deadline_ns:
                return False
            time.sleep(0.001)
        try:
            self._wire.make_safe()
        except OSError:
            return False
        return True

    def release(self) -> None:
        """Free the lines for a new owner, and be done: a rescuer serves once."""
        self._wire.close()


class _Driver:
    """The output driver that is registered as ``sim``."""

    def open(self, lines: Sequence[Line], options: Mapping[str, object]) -> BoardOutputs:
        """Open the board. Raises PortFault where it is held by another, or asked to fail."""
        faults = Faults(options.get("fail", ""))
        if faults.has("open-fails"):
            raise PortFault("the imagined board does not open (as it was asked to)")
        wire = Wire(lines, options)
        if not wire.claim():
            wire.close()
            raise PortFault(f"{wire.path}: another program holds this board; end it first")
        try:
            return BoardOutputs(wire, faults)
        except OSError as fault:
            wire.close()
            raise PortFault(f"{wire.path}: {fault.strerror}") from None

    def rescuer(self, lines: Sequence[Line], options: Mapping[str, object]) -> BoardRescuer:
        """Prepare to take the lines over. Raises PortFault."""
        return BoardRescuer(Wire(lines, options))


ImaginedBoard = _Driver()
