"""The machine: kernel, limits, clock, watchdog and panels. ``root`` is the root of its files."""

from __future__ import annotations

import ctypes
import os
import re
import resource
from collections.abc import Callable
from pathlib import Path

from controller.rig import findings
from controller.rig.findings import Finding
from drivers.realtime import PRIORITY

ROOT = Path("/")
_MEMLOCK_BYTES = 256 * 1024 * 1024  # a keeper's address space, with room (rather too much)
_CONFIGS = ("boot/firmware/config.txt", "boot/config.txt")
_SYNCHRONISED = "run/systemd/timesync/synchronized"  # systemd-timesyncd leaves it
_TIMEX_BYTES = 512  # struct timex is some 208; its first field 0 asks, and sets nothing
_TIME_ERROR = 5  # from memory of adjtimex(2): the clock is not synchronised
_CAP_IPC_LOCK, _CAP_SYS_NICE = 14, 23  # linux/capability.h, from memory of it
_SYSTEM_CONF = ("etc/systemd/system.conf", "usr/lib/systemd/system.conf")


def text(path: Path) -> str:
    """Read a file; empty where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def entries(folder: Path, pattern: str = "*") -> list[Path]:
    """List a folder in order; nothing where there is none."""
    try:
        return sorted(folder.glob(pattern))
    except OSError:
        return []


def is_pi(root: Path = ROOT) -> bool:
    """Is this a Raspberry Pi, by its device tree?"""
    return "raspberry pi" in text(root / "proc/device-tree/model").lower()


def watchdogs(root: Path = ROOT) -> list[str]:
    """Name the watchdog devices."""
    return [path.name for path in entries(root / "dev", "watchdog[0-9]*")]


def backlights(root: Path = ROOT) -> dict[str, bool]:
    """Name the panels that can be switched, and whether this user may."""
    return {
        path.parent.name: os.access(path, os.W_OK)
        for path in entries(root / "sys/class/backlight", "*/bl_power")
    }


def leds(root: Path = ROOT) -> dict[str, bool]:
    """Name the machine's own LEDs, and whether each burns or is left to a trigger that lights it.

    Source: the kernel's Documentation/ABI/testing/sysfs-class-led, from memory of it. The lights
    of a keyboard's locks are left out.
    """
    found: dict[str, bool] = {}
    for folder in entries(root / "sys/class/leds"):
        if folder.name.endswith("lock"):
            continue
        trigger = re.search(r"\[(\S+)\]", text(folder / "trigger"))
        triggered = trigger is not None and trigger[1] != "none"
        lit = text(folder / "brightness").strip() not in ("", "0")
        found[folder.name.rstrip(":")] = lit or triggered
    return found


def console_palette(root: Path = ROOT) -> str:
    """Give vt.default_red, _grn and _blu as the kernel holds them; else as it was told at boot.

    What it holds counts, since a misspelled parameter is on the command line and without effect;
    while nothing was told, it holds colours of its own.
    """
    told = text(root / "proc/cmdline")
    folder = root / "sys/module/vt/parameters"
    held = {key: text(folder / f"default_{key}").strip() for key in ("red", "grn", "blu")}
    red = not held["grn"].strip("0,") and not held["blu"].strip("0,")
    known = all(held.values())
    if known and (red or "vt.default_" in told):
        return " ".join(f"vt.default_{key}={value}" for key, value in held.items())
    return told


def runtime_watchdog(root: Path = ROOT) -> str:
    """Give systemd's RuntimeWatchdogSec; empty where it is not set."""
    said = ""
    folders = (root / "usr/lib/systemd/system.conf.d", root / "etc/systemd/system.conf.d")
    files = [root / name for name in reversed(_SYSTEM_CONF)]
    for path in [*files, *(each for folder in folders for each in entries(folder, "*.conf"))]:
        for value in re.findall(r"^\s*RuntimeWatchdogSec\s*=\s*(\S+)", text(path), re.MULTILINE):
            said = value
    return said


def kernel_synchronised() -> bool | None:
    """Ask the kernel whether any time service disciplines its clock; None: it does not say."""
    try:
        state = ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(_TIMEX_BYTES))
    except (OSError, AttributeError):
        return None
    return None if state < 0 else state != _TIME_ERROR


def synchronised(
    root: Path = ROOT, kernel: Callable[[], bool | None] = kernel_synchronised
) -> bool | None:
    """Was the wall clock set by a time service? None: nothing here tells."""
    return True if (root / _SYNCHRONISED).exists() else kernel()


def capable(bit: int, root: Path = ROOT) -> bool:
    """Has this process a capability, so that no limit matters?"""
    held = re.search(r"^CapEff:\s*([0-9a-f]+)", text(root / "proc/self/status"), re.MULTILINE)
    return held is not None and bool(int(held[1], 16) >> bit & 1)


def limit(which: int, capability: int, root: Path = ROOT) -> int | None:
    """Give a soft limit of this process; None: it has no bound."""
    if capable(capability, root):
        return None
    soft, _ = resource.getrlimit(which)
    return None if soft == resource.RLIM_INFINITY else soft


def look_at_machine(root: Path = ROOT) -> list[Finding]:
    """Judge all that needs no hands."""
    cmdline = text(root / "proc/cmdline")
    config = "\n".join(text(root / name) for name in _CONFIGS)
    panels = backlights(root)
    own = leds(root)
    return [
        findings.persistence(cmdline, config, is_pi=is_pi(root)),
        findings.watchdog(watchdogs(root), runtime_watchdog(root)),
        findings.granted(
            "real-time priority",
            limit(resource.RLIMIT_RTPRIO, _CAP_SYS_NICE, root),
            PRIORITY,
            "RTPRIO",
        ),
        findings.granted(
            "locked memory",
            limit(resource.RLIMIT_MEMLOCK, _CAP_IPC_LOCK, root),
            _MEMLOCK_BYTES,
            "MEMLOCK",
        ),
        findings.palette(console_palette(root)),
        findings.backlight(list(panels), [name for name, may in panels.items() if not may]),
        findings.indicators([each for each, lit in own.items() if lit], len(own)),
        findings.clock(synchronised=synchronised(root)),
    ]
