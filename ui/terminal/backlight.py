"""The panel's backlight, and the blanking of the Linux console.

Black pixels of an LCD let light through; only the backlight's own switch makes them dark. Kernel
ABI (sysfs-class-backlight): 4 in ``bl_power`` is off, 0 is on. HDMI panels have no such file.
"""

from __future__ import annotations

import fcntl
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from controller.errors import DrysideError

BACKLIGHTS = Path("/sys/class/backlight")
ON, OFF = "0", "4"

# linux/tiocl.h, from memory of it. Blanked this way the console ignores keys and output until it
# is unblanked; the escape sequences ESC [ 9 and ESC [ 14 only set timeouts in minutes.
TIOCLINUX = 0x541C
BLANK, UNBLANK = bytes([14]), bytes([4])


class PanelFault(DrysideError):
    """The panel could not be switched; one sentence says which and why."""


class Panel(Protocol):
    """Something lit behind the cells."""

    def off(self) -> None:
        """Put it dark. Raises PanelFault."""

    def restore(self) -> None:
        """Bring back what was before the first ``off``; without one, do nothing."""


class Backlight:
    """All backlights of this machine. Raises PanelFault when there is none."""

    def __init__(self, folder: Path = BACKLIGHTS) -> None:
        self._switches = sorted(folder.glob("*/bl_power"))
        self._before: dict[Path, str] = {}
        self._turn = threading.Lock()  # a slow "off" is not to end behind the "on" after it
        if not self._switches:
            raise PanelFault(
                f"no backlight is found in {folder}: this panel can't be switched off from here "
                "(HDMI panels can't); cover it with a deep red sheet, or switch it by hand"
            )

    def off(self) -> None:
        """Switch every backlight off. Raises PanelFault; those that can be switched are."""
        with self._turn:
            self._write(dict.fromkeys(self._switches, OFF), "off")

    def restore(self) -> None:
        """Switch them on again. Raises PanelFault."""
        with self._turn:
            before, self._before = self._before, {}
            self._write(before, "on")

    def _write(self, powers: dict[Path, str], way: str) -> None:
        trouble: list[str] = []
        for switch, power in powers.items():
            try:
                if power == OFF:
                    now = switch.read_text().strip()
                    # A panel found off, after a crash, is not to stay off for ever.
                    self._before.setdefault(switch, ON if now == OFF else now)
                switch.write_text(power)
            except OSError as error:
                trouble.append(
                    f"{switch} can't be switched {way} ({error.strerror}); give this user the "
                    "right to write to it by the udev rule of the wiring pages"
                )
        if trouble:
            raise PanelFault("; ".join(trouble))


class ConsoleBlank:
    """The blanking of the Linux console whose file is ``fd``."""

    def __init__(self, fd: int, ioctl: Callable[[int, int, bytes], object] = fcntl.ioctl) -> None:
        self._fd = fd
        self._ioctl = ioctl
        self._blank = False

    def off(self) -> None:
        """Blank it. Raises PanelFault, as where this terminal is no Linux console."""
        try:
            self._ioctl(self._fd, TIOCLINUX, BLANK)
        except OSError as error:
            raise PanelFault(
                f"this terminal can't be blanked ({error.strerror}): only the Linux console on "
                "the machine's own screen can; turn blanking off in the settings"
            ) from None
        self._blank = True

    def restore(self) -> None:
        """Unblank it. Raises PanelFault."""
        if not self._blank:
            return
        self._blank = False
        try:
            self._ioctl(self._fd, TIOCLINUX, UNBLANK)
        except OSError as error:
            raise PanelFault(f"the console stays blank ({error.strerror})") from None


class Panels:
    """Several panels as one."""

    def __init__(self, *panels: Panel) -> None:
        self._panels = panels

    def off(self) -> None:
        """Put all dark, also after one failed. Raises PanelFault."""
        self._each([panel.off for panel in self._panels])

    def restore(self) -> None:
        """Bring all back, also after one failed. Raises PanelFault."""
        self._each([panel.restore for panel in reversed(self._panels)])

    @staticmethod
    def _each(acts: list[Callable[[], None]]) -> None:
        trouble: list[str] = []
        for act in acts:
            try:
                act()
            except PanelFault as fault:
                trouble.append(str(fault))
        if trouble:
            raise PanelFault("; ".join(trouble))
