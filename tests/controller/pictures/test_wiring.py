"""The wiring diagram: the committed ones are fresh, and nothing in them overlaps."""

from __future__ import annotations

import re
import tomllib
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest

from controller.pictures.wiring import draw_wiring
from controller.rig.file import EXAMPLES, example_rig, load_rig
from controller.rig.model import Rig
from controller.rig.wiring import wiring_of
from controller.rig.wiring_pages import pages

DOCS = Path(__file__).parents[3] / "wiring_docs"
BUILDS = sorted(path.parent.name for path in DOCS.glob("*/rig.toml"))
SVG = "{http://www.w3.org/2000/svg}"


# a solid-state relay, a relay whose input is active low, a MOSFET, and every kind of input
MIXED = """
[lamp]
driver = "gpio"
address = 17
switch = "mosfet"
[[safelight]]
name = "ceiling"
address = 5
active = "low"
contact = "normally-closed"
nominated = true
[[light]]
name = "contact-frame-on-the-bench"
kind = "contact-frame"
address = 23
switch = "solid-state"
[[pedal]]
driver = "usb-pedal"
address = "/dev/input/by-id/usb-pedal-event-kbd"
[box]
driver = "gpio"
address = 16
[[sensor]]
name = "house"
driver = "bh1750"
address = "0x23"
purpose = "lamp"
[[sensor]]
name = "room"
driver = "light-pin"
address = 20
purpose = "stray"
"""


def diagrams() -> dict[str, str]:
    rigs = {board: Rig.model_validate(tomllib.loads(example_rig(board))) for board in EXAMPLES}
    rigs["mixed"] = Rig.model_validate(tomllib.loads(MIXED))
    rigs |= {build: load_rig(DOCS / build / "rig.toml") for build in BUILDS}
    return {name: draw_wiring(wiring_of(rig)) for name, rig in rigs.items()}


def texts(svg: str) -> list[tuple[str, float, float, float, float]]:
    """Give each text with the box that it takes, for letters 0.62 of their height wide."""
    found = []
    for text in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        size = float(text.get("font-size", "11"))
        anchor = text.get("text-anchor", "start")
        words = "".join(text.itertext()).strip()
        if not words:
            continue
        spans = list(text.iter(f"{SVG}tspan"))
        x = float((spans[0] if spans else text).get("x") or text.get("x") or "0")
        y = float(text.get("y") or "0")
        wide = 0.62 * size * len(words)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        found.append((words, left, y - size, left + wide, y))
    return found


@pytest.mark.parametrize("build", BUILDS)
def test_the_committed_pages_are_what_the_rig_files_give(build: str) -> None:
    """Made anew, they are the same to the letter.

    Where not: ``dryside rig draw --rig wiring_docs/BUILD/rig.toml --out wiring_docs/BUILD``.
    """
    wiring = wiring_of(load_rig(DOCS / build / "rig.toml"))
    fresh = {"wiring.svg": draw_wiring(wiring)} | pages(wiring)
    there = {path.name: path.read_text() for path in (DOCS / build).iterdir()}
    del there["rig.toml"]
    assert there == fresh


def test_all_three_builds_are_there() -> None:
    """Nothing was lost that the freshness test would then pass over."""
    assert BUILDS == ["gpio-relay-board", "low-voltage-led-mosfet", "relay-unit-usb"]


def test_no_words_lie_on_other_words() -> None:
    """In every diagram each text has a place of its own."""
    for name, svg in diagrams().items():
        found = texts(svg)
        assert len(found) > 20
        for (a, x0, y0, x1, y1), (b, u0, v0, u1, v1) in combinations(found, 2):
            apart = x1 <= u0 or u1 <= x0 or y1 <= v0 + 1 or v1 <= y0 + 1
            assert apart, f"{name}: {a!r} lies on {b!r}"


def test_a_diagram_names_both_sides_and_the_electrician() -> None:
    """The boundary is named on both of its sides, and the caution stands above."""
    for svg in diagrams().values():
        words = [text[0] for text in texts(svg)]
        assert "MAINS" in words
        assert "EXTRA-LOW VOLTAGE" in words
        caution = "Mains work by a licensed electrician; local codes come first."
        assert any(each.startswith(caution) for each in words)


def test_every_light_and_line_is_in_the_diagram() -> None:
    """What the rig file names can be found in the drawing, with the number of its pin."""
    svg = diagrams()["gpio"]
    words = " ".join(text[0] for text in texts(svg))
    for wanted in ("GPIO 17, pin 11", "GPIO 26, pin 37", "ceiling", "S1, in reach", "RCD"):
        assert wanted in words
    assert len(re.findall(r"\bF\d\b", words)) == 4


def test_the_start_page_links_to_pages_that_exist() -> None:
    """Every link of the start page leads somewhere."""
    links = re.findall(r"\]\(([^)]+)\)", (DOCS / "README.md").read_text())
    assert len(links) > 12
    assert all((DOCS / link).exists() for link in links)
