"""What a terminal would show for the bytes that it receives, and what of it is not red.

A small model of a terminal of its own, written without a look at what makes the bytes:
``offences`` lists what is not red, ``Picture`` holds the cells.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache

from rich.cells import cell_len

RGB = tuple[int, int, int]

# The sixteen colours before anybody loads others (console of the kernel; xterm), from memory.
VGA: list[RGB] = [
    (0, 0, 0), (170, 0, 0), (0, 170, 0), (170, 85, 0),
    (0, 0, 170), (170, 0, 170), (0, 170, 170), (170, 170, 170),
    (85, 85, 85), (255, 85, 85), (85, 255, 85), (255, 255, 85),
    (85, 85, 255), (255, 85, 255), (85, 255, 255), (255, 255, 255),
]  # fmt: skip
XTERM: list[RGB] = [
    (0, 0, 0), (205, 0, 0), (0, 205, 0), (205, 205, 0),
    (0, 0, 238), (205, 0, 205), (0, 205, 205), (229, 229, 229),
    (127, 127, 127), (255, 0, 0), (0, 255, 0), (255, 255, 0),
    (92, 92, 255), (255, 0, 255), (0, 255, 255), (255, 255, 255),
]  # fmt: skip
CUBE = (0, 95, 135, 175, 215, 255)

TOKEN = re.compile(
    r"\x1b\]P(?P<entry>[0-9A-Fa-f]{7})"
    r"|(?P<reset>\x1b\]R)"
    r"|\x1b\](?P<osc>[^\x07\x1b]*)(?:\x07|\x1b\\)"
    r"|\x1b\[(?P<args>[0-?]*)[ -/]*(?P<final>[@-~])"
    r"|(?P<escape>\x1b[ -/]*[0-~])"
    r"|(?P<control>[\x00-\x1f\x7f])"
    r"|(?P<text>[^\x00-\x1f\x7f]+)"
)
# The beginning of a sequence whose rest has not come yet.
BEGUN = re.compile(r"\x1b(?:\[[0-?]*[ -/]*|\](?!P[0-9A-Fa-f]{7}|R)[^\x07\x1b]*\x1b?|[ -/]*)\Z")


@dataclass(frozen=True)
class Pen:
    """What the next cell is drawn with; None is the terminal's own colour."""

    ink: int | RGB | None = None
    ground: int | RGB | None = None
    extras: frozenset[int] = frozenset()


EXTRAS_OFF = {22: {1, 2}, 23: {3}, 24: {4, 21}, 25: {5, 6}, 27: {7}, 28: {8}, 29: {9}}


@cache
def pen_after(pen: Pen, args: str) -> Pen:
    """Give the pen after one SGR sequence."""
    codes = [int(code or 0) for code in args.replace(":", ";").split(";")]
    while codes:
        code = codes.pop(0)
        if code == 0:
            pen = Pen()
        elif code in (38, 48):
            how = codes.pop(0)
            colour: int | RGB = (
                codes.pop(0) if how == 5 else (codes.pop(0), codes.pop(0), codes.pop(0))
            )
            pen = replace(pen, ink=colour) if code == 38 else replace(pen, ground=colour)
        elif 30 <= code <= 37 or 90 <= code <= 97:
            pen = replace(pen, ink=code - 30 if code < 90 else code - 82)
        elif 40 <= code <= 47 or 100 <= code <= 107:
            pen = replace(pen, ground=code - 40 if code < 100 else code - 92)
        elif code == 39:
            pen = replace(pen, ink=None)
        elif code == 49:
            pen = replace(pen, ground=None)
        elif code in EXTRAS_OFF:
            pen = replace(pen, extras=pen.extras - EXTRAS_OFF[code])
        else:
            pen = replace(pen, extras=pen.extras | {code})
    return pen


class Palette:
    """The colour numbers of one terminal."""

    def __init__(self, term: str) -> None:
        self.console = term.startswith("linux")
        self.usual = VGA if self.console else XTERM
        self.sixteen = list(self.usual)

    def rgb(self, colour: int | RGB) -> RGB:
        if isinstance(colour, tuple):
            return colour
        if colour < 16:
            return self.sixteen[colour]
        if colour >= 232:
            return (8 + 10 * (colour - 232),) * 3
        at = colour - 16
        return CUBE[at // 36], CUBE[at // 6 % 6], CUBE[at % 6]

    def told(self, token: re.Match[str]) -> None:
        """Take what loads or restores entries."""
        if entry := token["entry"]:
            rgb = int(entry[1:3], 16), int(entry[3:5], 16), int(entry[5:7], 16)
            self.sixteen[int(entry[0], 16)] = rgb
        elif token["reset"] or token["osc"] == "104":
            self.sixteen = list(self.usual)
        elif (token["osc"] or "").startswith("4;"):
            parts = token["osc"].split(";")[1:]
            for number, colour in zip(parts[::2], parts[1::2], strict=True):
                red, green, blue = (int(part[:2], 16) for part in colour[4:].split("/"))
                self.sixteen[int(number)] = red, green, blue


def tokens(told: bytes, term: str) -> Iterator[re.Match[str]]:
    """Cut what was received into pieces; a sequence that is cut off at the end is left out."""
    return cut(told.decode("utf-8", "replace"))


def cut(text: str) -> Iterator[re.Match[str]]:
    """The same for text."""
    at = 0
    while at < len(text):
        token = TOKEN.match(text, at)
        if token is None:
            if "\x1b" in text[at + 1 :]:
                raise AssertionError(f"not understood: {text[at : at + 30]!r}")
            return
        at = token.end()
        yield token


def offences(told: bytes, term: str) -> list[str]:
    """List what is not red, or left to the terminal, in the bytes that it received.

    ``term`` is its TERM. Each entry names what, how often, and the first text drawn so.
    """
    palette, pen = Palette(term), Pen()
    second = linked = False
    found: dict[str, tuple[int, str]] = {}

    def note(what: str, sample: str) -> None:
        count, first = found.get(what, (0, sample))
        found[what] = count + 1, first

    for token in tokens(told, term):
        palette.told(token)
        if token["final"] == "m" and not token["args"].startswith((">", "?")):
            pen = pen_after(pen, token["args"])
        elif token["final"] in ("h", "l") and "?1049" in token["args"]:
            second = token["final"] == "h"
            if second and pen.ground is None:
                note("the second screen is cleared with the terminal's own background", "")
        elif token["final"] in ("J", "K") and second:
            if pen.ground is None or any(palette.rgb(pen.ground)):
                note(f"erased with {pen.ground}", "")
        elif token["final"] == "h" and token["args"] in ("?5", "?25") and second:
            note(f"mode {token['args']}", "")
        elif (token["osc"] or "").startswith("8;"):
            linked = not token["osc"].endswith(";")
        if token["text"]:
            for what in _wrong(pen, palette, linked=linked):
                note(what, token["text"])
    return [
        f"{what} ({count} times, first {first[:30]!r})" for what, (count, first) in found.items()
    ]


def _wrong(pen: Pen, palette: Palette, *, linked: bool) -> Iterator[str]:
    for name, colour in (("ink", pen.ink), ("ground", pen.ground)):
        if colour is None:
            yield f"{name} is the terminal's own"
            continue
        if any(palette.rgb(colour)[1:]):
            yield f"{name} is {palette.rgb(colour)}"
        if palette.console and not (isinstance(colour, int) and colour < 16):
            yield f"{name} is one that the console puts into its sixteen by rules of its own"
        if palette.console and name == "ground" and isinstance(colour, int) and colour > 7:
            yield "ground is of the upper eight, which the console does not draw"
    for code, what in ((2, "dim"), (5, "blink"), (6, "blink"), (7, "reverse"), (8, "concealed")):
        if code in pen.extras:
            yield what
    bolder = pen.ink + 8 if 1 in pen.extras and isinstance(pen.ink, int) and pen.ink < 8 else 0
    if any(palette.rgb(bolder)[1:]):
        yield f"bold makes ink {palette.rgb(bolder)}"
    if palette.console and pen.extras & {3, 4, 21}:
        yield "italics or underline, for which the console has colours of its own"
    if linked:
        yield "a link, which terminals mark in their own way"


@dataclass
class Picture:
    """The cells of one screen, after the bytes so far."""

    term: str
    columns: int
    rows: int
    cells: dict[tuple[int, int], tuple[str, RGB, RGB]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.palette, self.pen, self.x, self.y = Palette(self.term), Pen(), 0, 0
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self._begun = ""

    def _rgb(self, colour: int | RGB | None, otherwise: RGB) -> RGB:
        return otherwise if colour is None else self.palette.rgb(colour)

    def take(self, told: bytes) -> Picture:
        """Draw what was received since; a sequence that is cut off waits for its rest."""
        text = self._begun + self._decoder.decode(told)
        begun = BEGUN.search(text)
        whole, self._begun = (text[: begun.start()], begun[0]) if begun else (text, "")
        for token in cut(whole):
            self.palette.told(token)
            args = token["args"] or ""
            if token["final"] == "m" and not args.startswith((">", "?")):
                self.pen = pen_after(self.pen, args)
            elif token["final"] == "H":
                row, _, column = args.partition(";")
                self.y, self.x = int(row or 1) - 1, int(column or 1) - 1
            elif token["final"] == "J" or (token["final"] == "h" and args == "?1049"):
                self._fill()
            elif token["control"] == "\r":
                self.x = 0
            elif token["control"] == "\n":
                self.y += 1
            if token["text"]:
                self._draw(token["text"])
        return self

    def _fill(self) -> None:
        ground = self._rgb(self.pen.ground, (255, 255, 255))
        for y in range(self.rows):
            for x in range(self.columns):
                self.cells[x, y] = " ", ground, ground

    def _draw(self, text: str) -> None:
        white: RGB = (255, 255, 255)
        ink, ground = self._rgb(self.pen.ink, white), self._rgb(self.pen.ground, white)
        for character in text:
            for _ in range(cell_len(character)):
                self.cells[self.x, self.y] = character, ink, ground
                self.x += 1

    def lit(self) -> int:
        """Count the cells that are not black."""
        return sum(
            any(ground) or (character != " " and any(ink))
            for character, ink, ground in self.cells.values()
        )

    def text(self) -> str:
        """Give what can be read, line by line."""
        return "\n".join(
            "".join(self.cells.get((x, y), (" ",))[0] for x in range(self.columns)).rstrip()
            for y in range(self.rows)
        )
