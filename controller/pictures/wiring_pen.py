"""The pen of a wiring diagram: wires, boxes, symbols and words at places that are given.

The one module that knows schemdraw. Every place is in its units (half an inch); y grows upwards.
"""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import schemdraw
from schemdraw import elements as elm
from schemdraw.segments import Segment, SegmentArc, SegmentCircle, SegmentText
from schemdraw.types import Halign

schemdraw.use("svg")
# plain text, whatever else is installed: the same rig gives the same file everywhere
schemdraw.svgconfig.text = "text"

MAINS, LOW, EDGE, GREY, EARTH = "#8a1c1c", "#1d3f72", "#d06000", "#555555", "#2c7a2c"
FONT = 11.0
SMALL = 9.5
_BELOW_MIDDLE = 0.35  # from the middle of a capital down to its foot, by the height of the letters
_SVG = "http://www.w3.org/2000/svg"
_DASH, _SPACE = 0.5, 0.35


def _settled(svg: str) -> str:
    """Write an SVG so that every program shows its words at one height, and no digit is noise.

    Not every program knows "dominant-baseline"; and last digits of a float are a machine's own.
    """
    root = ElementTree.fromstring(svg)
    for text in root.iter(f"{{{_SVG}}}text"):
        words = "".join(text.itertext())
        span = text.find(f"{{{_SVG}}}tspan")
        down = 0.0 if span is None else float(span.get("dy", "0"))
        size = float(text.get("font-size", "0"))
        text.attrib.pop("dominant-baseline", None)
        text.set("y", str(float(text.get("y", "0")) + down + _BELOW_MIDDLE * size))
        for child in list(text):
            text.remove(child)
        text.text = words
    written = ElementTree.tostring(root, encoding="unicode")
    return re.sub(r"-?\d+\.\d{3,}", lambda number: f"{float(number[0]):.2f}", written) + "\n"


class _Hop(elm.Element):  # type: ignore[no-untyped-call]
    """A wire that jumps over another that it does not touch."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(**kwargs)
        self.segments.append(SegmentArc((0, 0), 0.4, 0.4, theta1=0, theta2=180))


class _Lamp(elm.Element):  # type: ignore[no-untyped-call]
    """A circle with a cross, its middle at the place."""

    def __init__(self, radius: float) -> None:
        super().__init__()
        arm = radius * 0.7071
        self.segments.append(SegmentCircle((0, 0), radius))
        self.segments.append(Segment([(-arm, -arm), (arm, arm)]))
        self.segments.append(Segment([(-arm, arm), (arm, -arm)]))


class _Words(elm.Element):  # type: ignore[no-untyped-call]
    """One line of words, its middle height at the place."""

    def __init__(self, text: str, at: Halign, size: float) -> None:
        super().__init__()
        self.segments.append(SegmentText((0, 0), text, align=(at, "center"), fontsize=size))


class _Stroke(elm.Element):  # type: ignore[no-untyped-call]
    """A line through places, as it is."""

    def __init__(self, *places: tuple[float, float], style: str, width: float) -> None:
        super().__init__()
        self.segments.append(Segment(list(places), ls=None if style == "-" else style, lw=width))  # type: ignore[arg-type]


class Pen:
    """Draws one diagram."""

    def __init__(self) -> None:
        self._drawing = schemdraw.Drawing(show=False)
        self._drawing.config(fontsize=FONT, font="sans-serif", lw=1.6, bgcolor="white", margin=0.4)

    def svg(self) -> str:
        """Give the diagram as the text of an SVG file."""
        return _settled(self._drawing.get_imagedata("svg").decode())

    # -- lines -------------------------------------------------------------------------------

    def wire(self, *places: tuple[float, float], colour: str = LOW) -> None:
        """Draw a wire through places."""
        self.stroke(*places, colour=colour)

    def stroke(
        self, *places: tuple[float, float], colour: str, style: str = "-", width: float = 1.6
    ) -> None:
        """Draw a line through places: "-" whole, "--" dashed, ":" dotted."""
        self._drawing.add(
            _Stroke(*places, style=style, width=width).at((0, 0)).theta(0).color(colour)
        )

    def boundary(self, *places: tuple[float, float]) -> None:
        """Draw the thick dashed line between extra-low voltage and mains, level and upright."""
        for (x0, y0), (x1, y1) in pairwise(places):
            length = abs(x1 - x0) + abs(y1 - y0)
            along = ((x1 - x0) / length, (y1 - y0) / length)
            at = 0.0
            while at < length:
                to = min(at + _DASH, length)
                ends = [(x0 + along[0] * a, y0 + along[1] * a) for a in (at, to)]
                self.stroke(ends[0], ends[1], colour=EDGE, width=5)
                at += _DASH + _SPACE

    def hop(self, x: float, y: float, colour: str) -> None:
        """Jump over a wire at a place; the wire ends 0.2 before it and goes on 0.2 after."""
        self._drawing.add(_Hop().at((x, y)).theta(0).color(colour))

    def across(
        self, x0: float, x1: float, y: float, over: tuple[float, ...], *, colour: str
    ) -> None:
        """Draw a level wire from left to right that jumps over upright ones."""
        at = x0
        for x in over:
            self.wire((at, y), (x - 0.2, y), colour=colour)
            self.hop(x, y, colour)
            at = x + 0.2
        self.wire((at, y), (x1, y), colour=colour)

    def box(
        self,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        *,
        colour: str,
        style: str = "-",
        fill: str | None = None,
    ) -> None:
        """Draw a box by two corners."""
        box = elm.Rect(corner1=(x0, y0), corner2=(x1, y1)).at((0, 0)).theta(0)
        box = box.color(colour)
        if style != "-":
            box = box.linestyle(style)  # type: ignore[arg-type]
        self._drawing.add(box.fill(fill) if fill else box)

    # -- words -------------------------------------------------------------------------------

    def words(
        self,
        x: float,
        y: float,
        text: str,
        *,
        at: Halign = "left",
        size: float = FONT,
        colour: str = "black",
    ) -> None:
        """Write words beside a place, middle height; ``at`` tells which end is at x."""
        self._drawing.add(_Words(text, at, size).at((x, y)).theta(0).color(colour))

    # -- symbols -----------------------------------------------------------------------------

    def dot(self, x: float, y: float, colour: str) -> None:
        """Join wires."""
        self._drawing.add(elm.Dot(radius=0.09).at((x, y)).color(colour))

    def terminal(self, x: float, y: float, colour: str) -> None:
        """Draw a screw terminal."""
        self._drawing.add(elm.Dot(radius=0.1, open=True).at((x, y)).color(colour))

    def resistor(
        self, start: tuple[float, float], end: tuple[float, float], colour: str = LOW
    ) -> None:
        """Draw a resistor between two places."""
        self._drawing.add(elm.ResistorIEC().at(start).to(end).color(colour))  # type: ignore[no-untyped-call]

    def fuse(self, start: tuple[float, float], end: tuple[float, float], colour: str) -> None:
        """Draw a fuse between two places."""
        self._drawing.add(elm.FuseIEEE().at(start).to(end).color(colour))  # type: ignore[no-untyped-call]

    def lamp(self, x: float, y: float, colour: str) -> None:
        """Draw a lamp, half a unit in radius, around a place."""
        self._drawing.add(_Lamp(0.5).at((x, y)).theta(0).color(colour))

    def leds(self, start: tuple[float, float], end: tuple[float, float], colour: str) -> None:
        """Draw an LED between two places, its anode at the start."""
        self._drawing.add(elm.LED().at(start).to(end).color(colour))  # type: ignore[no-untyped-call]

    def switch(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        colour: str,
        *,
        closed: bool = False,
    ) -> None:
        """Draw a switch or contact between two places."""
        self._drawing.add(elm.Switch(nc=closed).at(start).to(end).color(colour))

    def ground(self, x: float, y: float, colour: str = LOW) -> None:
        """Draw the ground of the extra-low voltage below a place."""
        self._drawing.add(elm.GroundSignal().at((x, y)).theta(0).color(colour))

    def earth(self, x: float, y: float) -> None:
        """Draw protective earth below a place."""
        self._drawing.add(elm.Ground().at((x, y)).theta(0).color(EARTH))

    def mosfet(self, x: float, y: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Draw an n-channel MOSFET with its gate at a place; give drain and source."""
        fet = elm.NFet().theta(0).reverse().anchor("gate").at((x, y)).color(LOW)
        self._drawing.add(fet)
        drain, source = fet.absanchors["drain"], fet.absanchors["source"]
        return (float(drain[0]), float(drain[1])), (float(source[0]), float(source[1]))
