"""What is found when a rig is looked at with the hands: each part's state, and its remedy.

Pure: the looking is in ``drivers.looking``, the talking in ``ui.commands.rig_hands``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

PAGE = "wiring_docs/README.md"
PRESSES_WITHIN_S = 20.0
# A tap bounces for some milliseconds: more edges than this in one tap are a worn or wet contact.
MOST_EDGES = 12  # common practice, no source
# A hand over a light sensor leaves less than this of its reading; noise leaves more.
_HAND_LEAVES = 0.8  # common practice, no source


class State(Enum):
    """How a part was found."""

    WELL = "well"
    LOOK = "look"
    WRONG = "wrong"
    NOT_THERE = "not there"


class Section(Enum):
    """A section of the wiring page, by its anchor."""

    RELAYS = "relays"
    PEDALS = "pedals"
    BOX = "box-switch"
    SOUNDER = "sounder"
    SENSORS = "sensors"
    DEAD_MAN = "when-all-fails"
    SYSTEM = "the-machine"
    SCREEN = "the-screen"
    LIGHTS = "light-that-nobody-ordered"

    @property
    def page(self) -> str:
        """Give where it is written."""
        return f"{PAGE}#{self.value}"


@dataclass(frozen=True, slots=True)
class Finding:
    """One part: its state, one sentence, and the remedy (empty where none is needed)."""

    part: str
    state: State
    sentence: str
    section: Section
    remedy: str = ""

    def as_dict(self) -> dict[str, str]:
        """Give it for a program."""
        return {
            "part": self.part,
            "state": self.state.value,
            "sentence": self.sentence,
            "remedy": self.remedy,
            "section": self.section.page,
        }

    def as_lines(self) -> list[str]:
        """Give it for a person."""
        lines = [f"{self.state.value:<9} {self.part}: {self.sentence}"]
        if self.remedy:
            lines.append(f"{'':<9} {self.remedy} ({self.section.page})")
        return lines


def any_wrong(findings: Iterable[Finding]) -> bool:
    """Is there one that must be mended before paper is exposed?"""
    return any(each.state is State.WRONG for each in findings)


# --- parts that hands try -------------------------------------------------------------------


def clicked(
    name: str, heard: str, names: Sequence[str], read_back: Sequence[bool | None]
) -> Finding:
    """Judge a relay: ``heard`` is the light that came ("" for none), ``read_back`` lit, then safe.

    ``read_back`` says of each of the two whether the line was as it was switched; None: blind.
    """
    part = f"relay {name}"
    if False in read_back:
        return Finding(
            part,
            State.WRONG,
            "its line does not read back as it was switched",
            Section.RELAYS,
            "look for a short, a welded contact or a line that another part holds",
        )
    if not heard:
        return Finding(
            part,
            State.WRONG,
            "nothing switched",
            Section.RELAYS,
            "look at the relay's supply, its wire, and address and active in the rig file",
        )
    if heard != name:
        known = "" if heard in names else ", which the rig does not know"
        return Finding(
            part,
            State.WRONG,
            f"{heard} switched instead{known}",
            Section.RELAYS,
            "change the two addresses in the rig file, or the wires",
        )
    if None in read_back:
        return Finding(
            part,
            State.LOOK,
            "it switched, but cannot be read back: it is blind",
            Section.RELAYS,
            "nothing would tell of a stuck relay; keep the switch in the lamp's lead within reach",
        )
    return Finding(part, State.WELL, "it switched, and reads back", Section.RELAYS)


def resting(name: str, *, right: bool) -> Finding:
    """Judge what is lit while every coil is at rest."""
    part = f"rest of {name}"
    if right:
        return Finding(part, State.WELL, "at rest it is as it should be", Section.RELAYS)
    return Finding(
        part,
        State.WRONG,
        "at rest it is the other way round",
        Section.RELAYS,
        "look at active and contact in the rig file, and at which contact of the relay is wired",
    )


def pressed(name: str, downs: int, ups: int, edges: int) -> Finding:
    """Judge one tap of a pedal: downs and ups without its bounce, and all its edges."""
    part = f"pedal {name}"
    if not downs:
        return Finding(
            part,
            State.WRONG,
            f"no press was felt within {PRESSES_WITHIN_S:g} s",
            Section.PEDALS,
            "look at its plug and wire, and at address and contact in the rig file",
        )
    if not ups:
        return Finding(
            part,
            State.WRONG,
            "it went down and did not come up",
            Section.PEDALS,
            "look for a short or a stuck contact, and at contact in the rig file",
        )
    if downs > 1:
        return Finding(
            part,
            State.WRONG,
            f"one press was felt as {downs}",
            Section.PEDALS,
            "raise its bounce_ms in the rig file, or clean the contact",
        )
    if edges > MOST_EDGES:
        return Finding(
            part,
            State.LOOK,
            f"it was felt, with {edges} edges",
            Section.PEDALS,
            "the contact bounces much: clean or dry it",
        )
    return Finding(part, State.WELL, f"it was felt, with {edges} edges", Section.PEDALS)


def lid(downs: int, ups: int) -> Finding:
    """Judge the switch on the paper box, after its lid was opened and shut."""
    if downs and ups:
        return Finding("box", State.WELL, "opening and shutting were felt", Section.BOX)
    missing = "shutting" if ups else "opening" if downs else "the lid"
    return Finding(
        "box",
        State.WRONG,
        f"{missing} was not felt within {PRESSES_WITHIN_S:g} s",
        Section.BOX,
        "look at its magnet and wire, and at address and contact in the rig file",
    )


def heard_sounds(driver: str, unheard: Sequence[str]) -> Finding:
    """Judge the sounder by the sounds that were not heard."""
    if not unheard:
        return Finding("sounder", State.WELL, "every sound was heard", Section.SOUNDER)
    return Finding(
        "sounder",
        State.WRONG,
        f"{driver} was not heard at: {', '.join(unheard)}",
        Section.SOUNDER,
        "look at its wire, and at driver, address and active in the rig file",
    )


def _read(value: float, unit: str) -> str:
    # below a thousandth of a lux no chip of these tells anything
    return f"{0.0 if abs(value) < 1e-3 else value:.4g} {unit}".strip()


def covered(name: str, uncovered: float, under_hand: float, unit: str) -> Finding:
    """Judge a light sensor by two readings, open and under a hand."""
    part = f"sensor {name}"
    told = f"{_read(uncovered, unit)} open, {_read(under_hand, unit)}"
    if under_hand < _HAND_LEAVES * uncovered:
        return Finding(part, State.WELL, f"{told} covered", Section.SENSORS)
    return Finding(
        part,
        State.LOOK,
        f"{told} covered: covering it changed nothing",
        Section.SENSORS,
        "try it in room light, and see that no glowing part shines into it",
    )


# --- the machine ----------------------------------------------------------------------------


def persistence(cmdline: str, config: str, *, is_pi: bool) -> Finding:
    """Tell whether the kernel lets an output go to its pull when its program has died.

    Source: raspberrypi/linux #6117 and #6150 (strict_gpiod, persist_gpio_outputs).
    """
    part = "lines of a dead program"
    if not is_pi:
        return Finding(part, State.NOT_THERE, "this is no Raspberry Pi", Section.DEAD_MAN)
    told = dict(re.findall(r"pinctrl_bcm2835\.(persist_gpio_outputs)=(\S+)", cmdline))
    strict = re.search(r"^\s*dtparam=(?:\S*,)?strict_gpiod(?:=(on|off))?\b", config, re.MULTILINE)
    if told.get("persist_gpio_outputs", "").lower() in ("n", "0") or (
        strict is not None and strict[1] != "off"
    ):
        return Finding(part, State.WELL, "they go back to their pull", Section.DEAD_MAN)
    return Finding(
        part,
        State.LOOK,
        "they keep their level: only the keeper's watcher puts the lamp off",
        Section.DEAD_MAN,
        "write dtparam=strict_gpiod in config.txt",
    )


def palette(cmdline: str) -> Finding:
    """Tell whether the kernel's own text on the console is red: vt.default_red, _grn and _blu.

    A green or blue value that is not 0 lights. Missing parameters leave the kernel's own colours.
    """
    values: dict[str, list[int]] = {}
    for key, text in re.findall(r"\bvt\.default_(red|grn|blu)=(\S+)", cmdline):
        try:
            values[key] = [int(each, 0) for each in text.split(",")]
        except ValueError:
            values[key] = []
    remedy = (
        "add vt.default_red, vt.default_grn and vt.default_blu with 16 values each to cmdline.txt, "
        "green and blue all 0; dryside unit install prints them"
    )
    part = "console colours"
    if not values:
        return Finding(part, State.LOOK, "the kernel's own text is white", Section.SCREEN, remedy)
    whole = all(len(values.get(key, [])) == 16 for key in ("red", "grn", "blu"))
    if not whole or any(values["grn"]) or any(values["blu"]):
        return Finding(
            part, State.WRONG, "the kernel's palette is not all red", Section.SCREEN, remedy
        )
    if len(set(values["red"])) == 1:
        return Finding(
            part, State.WRONG, "all its reds are one: no text shows", Section.SCREEN, remedy
        )
    return Finding(part, State.WELL, "the kernel's own text is red", Section.SCREEN)


def granted(part: str, limit: int | None, wanted: int, key: str) -> Finding:
    """Tell whether a limit of this login is enough; None: it has no bound."""
    if limit is None or limit >= wanted:
        return Finding(part, State.WELL, "it is granted", Section.SYSTEM)
    value = "infinity" if key == "MEMLOCK" else str(wanted)
    user = "memlock unlimited" if key == "MEMLOCK" else f"rtprio {wanted}"
    return Finding(
        part,
        State.LOOK,
        f"this login is not granted it (the limit is {limit}); the service unit may be",
        Section.SYSTEM,
        f"dryside unit install grants it (Limit{key}={value}); by hand, '{user}' in "
        "/etc/security/limits.conf",
    )


def clock(*, synchronised: bool | None) -> Finding:
    """Judge the wall clock, which only the book needs."""
    if synchronised:
        return Finding("clock", State.WELL, "it is synchronised", Section.SYSTEM)
    what = "nothing tells whether it is right" if synchronised is None else "it is not synchronised"
    return Finding(
        "clock",
        State.LOOK,
        f"{what}: dates in the book may be false, times of exposures are not",
        Section.SYSTEM,
        "connect the network once, or fit a clock chip",
    )


def watchdog(devices: Sequence[str], runtime: str) -> Finding:
    """Judge the chip that resets a frozen kernel; ``runtime`` is systemd's RuntimeWatchdogSec."""
    if not devices:
        return Finding("watchdog", State.NOT_THERE, "there is none here", Section.DEAD_MAN)
    if runtime and runtime not in ("0", "off"):
        return Finding("watchdog", State.WELL, f"it is fed ({runtime})", Section.DEAD_MAN)
    return Finding(
        "watchdog",
        State.LOOK,
        "it is there, but nothing feeds it: a frozen kernel would not be reset",
        Section.DEAD_MAN,
        "dryside unit install --watchdog, or RuntimeWatchdogSec=15 in /etc/systemd/system.conf",
    )


def backlight(names: Sequence[str], locked: Sequence[str]) -> Finding:
    """Judge the panel's light; ``locked`` are those that this user may not switch."""
    if not names:
        return Finding(
            "backlight",
            State.NOT_THERE,
            "no panel here can be switched (HDMI panels cannot)",
            Section.SCREEN,
            "cover the panel with a deep red sheet, or switch it off by hand",
        )
    if locked:
        return Finding(
            "backlight",
            State.WRONG,
            f"{', '.join(locked)} cannot be switched by this user",
            Section.SCREEN,
            "give this user the right to write to bl_power by a udev rule",
        )
    return Finding("backlight", State.WELL, f"{', '.join(names)} can be switched", Section.SCREEN)


def indicators(burning: Sequence[str], dark: int) -> Finding:
    """Judge the machine's own LEDs: the names of those that burn or may, and how many don't."""
    part = "its own lights"
    if burning:
        return Finding(
            part,
            State.LOOK,
            f"these burn, or may: {', '.join(burning)}",
            Section.LIGHTS,
            "switch them off in config.txt or cover them with tape, and test the room for fog",
        )
    if not dark:
        return Finding(
            part,
            State.NOT_THERE,
            "the kernel knows of none: look for those of plugs, boards and supplies",
            Section.LIGHTS,
        )
    return Finding(part, State.WELL, "what the kernel can switch is dark", Section.LIGHTS)
