"""Names for the keys that a pedal may send, by the kernel's numbers for them.

The numbers are those of the kernel's input-event-codes.h (read), which is part of its interface
to programs and never changes.
"""

from __future__ import annotations

from difflib import get_close_matches

from controller.ports import PortFault

# the rows of a keyboard have numbers that follow each other
_ROWS = {2: "1234567890", 16: "qwertyuiop", 30: "asdfghjkl", 44: "zxcvbnm"}
_OTHERS = {
    "esc": 1,
    "minus": 12,
    "backspace": 14,
    "tab": 15,
    "enter": 28,
    "leftctrl": 29,
    "leftshift": 42,
    "comma": 51,
    "dot": 52,
    "slash": 53,
    "rightshift": 54,
    "leftalt": 56,
    "space": 57,
    "rightctrl": 97,
    "rightalt": 100,
    "home": 102,
    "up": 103,
    "pageup": 104,
    "left": 105,
    "right": 106,
    "end": 107,
    "down": 108,
    "pagedown": 109,
    "mute": 113,
    "volumedown": 114,
    "volumeup": 115,
    "nextsong": 163,
    "playpause": 164,
    "previoussong": 165,
    "button-left": 0x110,
    "button-right": 0x111,
    "button-middle": 0x112,
}


def _codes() -> dict[str, int]:
    codes = dict(_OTHERS)
    for first, row in _ROWS.items():
        codes |= {key: first + place for place, key in enumerate(row)}
    codes |= {f"f{n}": 58 + n for n in range(1, 11)} | {"f11": 87, "f12": 88}
    return codes


CODES = _codes()
MOST = 0x2FF  # the highest number that a key may have


def code_of(key: str) -> int:
    """Give the number of a key: a name ("b", "pageup"), or the number itself. Raises PortFault."""
    name = key.strip().lower().removeprefix("key_")
    # digits have names of one letter; every longer number is a key's own
    if len(name) > 1 and name.isascii() and name.isdigit() and int(name) <= MOST:
        return int(name)
    if name in CODES:
        return CODES[name]
    near = get_close_matches(name, CODES, n=1)
    right = repr(near[0]) if near else "a name such as 'b' or 'pageup', or its number in the kernel"
    raise PortFault(f"{key!r} is no key; right would be {right}")
