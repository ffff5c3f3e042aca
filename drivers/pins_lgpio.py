"""Pins through gpiozero and lgpio: the kernel's own line devices.

Three things are done otherwise than in gpiozero's lgpio factory, each for a lamp's sake:

* a pin is not made an input when it is first named, nor when it is closed (a line that a relay
  hangs on would float meanwhile);
* an output gets its first level in the call that claims it;
* every factory has pins of its own, so that closing one leaves the others alone.

The chip is found by its label, since a Raspberry Pi 5 has called the header's chip both
gpiochip4 and gpiochip0.
"""

from __future__ import annotations

import importlib
import logging
import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from controller.ports import PortFault
from drivers.holders import who_holds

_log = logging.getLogger(__name__)
_T = TypeVar("_T")

# The header's chip on a Raspberry Pi 5; 4 and its kin; 3 and older.
PI_LABELS = ("pinctrl-rp1", "pinctrl-bcm2711", "pinctrl-bcm2835")


def import_lgpio() -> None:
    """Load lgpio without leaving anything in the working folder, or changing it.

    On import it makes a FIFO in the folder named by LG_WD and changes the working folder to it.
    Both ends are open when the import has ended, so the FIFO can go at once. Raises PortFault.
    """
    if sys.modules.get("lgpio"):
        return
    before = os.environ.get("LG_WD")
    here = os.open(".", os.O_RDONLY)
    try:
        with tempfile.TemporaryDirectory(prefix="dryside-", dir=_run_time_folder()) as folder:
            os.environ["LG_WD"] = folder
            importlib.import_module("lgpio")
            os.fchdir(here)
    except ImportError as error:
        raise PortFault(
            "the library lgpio is not installed: run pip install 'dryside[pi]', or install the "
            "system's python3-lgpio and make the environment with --system-site-packages"
        ) from error
    finally:
        os.fchdir(here)
        os.close(here)
        if before is None:
            os.environ.pop("LG_WD", None)
        else:
            os.environ["LG_WD"] = before


def _run_time_folder() -> str:
    names = [
        os.environ.get(name, "").split(":")[0]
        for name in ("LG_WD", "RUNTIME_DIRECTORY", "XDG_RUNTIME_DIR")
    ]
    for name in [*names, "/dev/shm", "/tmp"]:  # a private folder is made inside
        if name and os.access(name, os.W_OK | os.X_OK):
            return name
    raise PortFault("lgpio needs a folder to write to: set LG_WD to one, such as /run/dryside")


import_lgpio()

import lgpio  # noqa: E402 - only after its FIFO has got a place
from gpiozero.exc import GPIOZeroError, PinUnknownPi  # noqa: E402
from gpiozero.pins import PinInfo  # noqa: E402
from gpiozero.pins.lgpio import LGPIOFactory, LGPIOPin  # noqa: E402
from gpiozero.pins.local import LocalPiPin  # noqa: E402


class SafePin(LGPIOPin):  # type: ignore[misc]
    """A pin that is left alone until it is claimed, and is let go of as it is."""

    def __init__(self, factory: SafeFactory, info: PinInfo) -> None:
        # Not LGPIOPin.__init__: it claims an input, and a held line would float.
        super(LGPIOPin, self).__init__(factory, info)
        self._pwm: Any = None  # (frequency, duty) while a tone sounds
        self._bounce = None
        self._callback: Any = None
        self._edges = lgpio.BOTH_EDGES
        self._claimed = False

    def output_with_state(self, state: int) -> None:
        """Claim the line at this level in one call."""
        lgpio.gpio_claim_output(self.factory._handle, self._number, int(state))
        self._claimed = True

    def input_with_pull(self, pull: str) -> None:
        """Claim the line as an input with its pull in one call."""
        flags = {"up": lgpio.SET_PULL_UP, "down": lgpio.SET_PULL_DOWN}
        lgpio.gpio_claim_input(
            self.factory._handle, self._number, flags.get(pull, lgpio.SET_PULL_NONE)
        )
        self._claimed = True

    def close(self) -> None:
        """Free the line, as it is; whether its level then stays is the kernel's choice."""
        if not self._claimed or self.factory._handle is None:
            return
        if self._callback is not None:
            self._callback.cancel()
            self._callback = None
        self._when_changed = None
        if self._pwm:
            self.frequency = None
        self._claimed = False
        lgpio.gpio_free(self.factory._handle, self._number)

    def _call_when_changed(self, chip: int, gpio: int, level: int, ticks: int) -> None:  # noqa: ARG002
        # In lgpio's only thread: what is raised here, say while closing, would end it.
        try:
            LocalPiPin._call_when_changed(self, ticks / 1e9, level)
        except Exception:
            _log.debug("an edge of gpio %d came while closing", gpio, exc_info=True)


class SafeFactory(LGPIOFactory):  # type: ignore[misc]
    """A chip of lines, opened by number, with pins of its own."""

    errors: tuple[type[Exception], ...] = (lgpio.error, GPIOZeroError)

    def __init__(self, chip: int) -> None:
        super().__init__(chip)
        self.pins: dict[int, SafePin] = {}  # gpiozero's own are shared by all factories
        self.pin_class = SafePin
        self._infos: dict[int, PinInfo] = _infos(self)

    def pin(self, name: int) -> SafePin:
        """Give the pin, without touching its line."""
        if name not in self.pins:
            self.pins[name] = self.pin_class(self, self._infos[name])
        return self.pins[name]

    def gpios(self) -> Sequence[int]:
        """List the lines of the header, or of the whole chip where there is no header."""
        return sorted(self._infos)

    def is_busy(self, error: Exception) -> bool:
        """Lgpio tells errors by their text alone."""
        return isinstance(error, lgpio.error) and error.value == lgpio.error_text(lgpio.GPIO_BUSY)

    def holder(self, gpio: int) -> str:
        """Name the processes that hold a line, or else the kernel's word for its consumer."""
        found = who_holds(f"gpiochip{self.chip}", gpio)
        if found:
            return " and ".join(f"process {each.pid} ({each.command})" for each in found)
        try:
            user = lgpio.gpio_get_line_info(self._handle, gpio)[4]
        except lgpio.error:
            return ""
        return f"{user!r}, as the kernel calls it" if user else ""


def _infos(factory: SafeFactory) -> dict[int, PinInfo]:
    """Tell the lines that a wire can reach: a Pi's header, or all lines of another chip."""
    _, count, _, label = lgpio.gpio_get_chip_info(factory._handle)
    if label in PI_LABELS:
        try:
            headers = factory.board_info.headers.values()
        except PinUnknownPi:
            headers = ()
        pins = [pin for header in headers for pin in header.pins.values()]
        found = {int(p.name.removeprefix("GPIO")): p for p in pins if "gpio" in p.interfaces}
        if found:
            return found
    return {
        n: PinInfo(n, f"GPIO{n}", frozenset({n, str(n), f"GPIO{n}"}), "", n, 1, {"gpio": ""})
        for n in range(count)
    }


def open_lgpio(chip: str | None) -> SafeFactory:
    """Open a chip by its label or path; without one, the header's. Raises PortFault."""
    number = _chip_number(chip)
    return _opened(number, lambda: SafeFactory(number))


def _chip_number(wanted: str | None) -> int:
    labels: dict[str, int] = {}
    refused: PortFault | None = None
    for number in _chips():
        if wanted in (f"/dev/gpiochip{number}", f"gpiochip{number}"):
            return number
        try:
            labels.setdefault(_label(number), number)
        except PortFault as fault:
            refused = fault
    for label in PI_LABELS if wanted is None else (wanted,):
        if label in labels:
            return labels[label]
    if refused:
        raise refused
    if not labels:
        raise PortFault(
            "this machine has no GPIO chip (/dev/gpiochip0 and so on); use the driver 'sim', or "
            "run this on a Raspberry Pi"
        )
    here = ", ".join(repr(label) for label in labels)
    asked = "that belongs to a Raspberry Pi's header" if wanted is None else f"called {wanted!r}"
    raise PortFault(f"there is no GPIO chip {asked}; set chip to one of those here: {here}")


def _chips() -> list[int]:
    """List the chips' numbers; a name that only points at another chip is left out."""
    paths = [path for path in Path("/dev").glob("gpiochip*") if not path.is_symlink()]
    tails = [path.name.removeprefix("gpiochip") for path in paths]
    return sorted(int(tail) for tail in tails if tail.isdigit())


def _label(number: int) -> str:
    handle = _opened(number, lambda: lgpio.gpiochip_open(number))
    try:
        return str(lgpio.gpio_get_chip_info(handle)[3])
    finally:
        lgpio.gpiochip_close(handle)


def _opened(number: int, action: Callable[[], _T]) -> _T:
    try:
        return action()
    except (lgpio.error, GPIOZeroError, OSError) as error:
        path = f"/dev/gpiochip{number}"
        if not os.access(path, os.R_OK | os.W_OK, effective_ids=True):
            raise PortFault(
                f"{path} may not be opened by this user: run sudo usermod -aG gpio $USER and log "
                "in again"
            ) from error
        raise PortFault(f"{path} cannot be opened: {error}") from error
