"""Strips and crosses stand beside the print that they led to."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO

from PIL import Image

from controller.book.entries import Page, Record
from controller.record_sheet.canvas import measure
from controller.record_sheet.evidence import figures_of
from controller.record_sheet.figures import filled, strip_figure
from controller.record_sheet.ink import Picture, Words
from controller.record_sheet.model import CrossFigure, StripFigure
from controller.score.file import from_tables
from controller.score.model import Score
from controller.strips.cross import Cross, Steps
from controller.strips.strip import Purpose, Strip
from tests.controller.score.pages import AT

STRIP = Strip(base_s=8.0, patches=5, filter="00", place="cloud")
BURN = Strip(base_s=8.0, purpose=Purpose(kind="burn", region="sky", within="soft"), side="right")
CROSS = Cross(soft=Steps(filter="00", base_s=8.0), hard=Steps(filter="5", base_s=4.0))


def record(spec: Strip | Cross, mark: str, minutes: int = -30) -> Page:
    """Give the record of a strip that was made so long after the print."""
    kind = "cross" if isinstance(spec, Cross) else "strip"
    at = AT + timedelta(minutes=minutes)
    text = spec.model_dump_json()
    kept = Record(f"id-{mark}", kind, "", text, "", {}, "rig", at, at, None, "", (mark,))
    return Page(kept, (), (), (), ())


PAGES = {
    "K1": record(STRIP, "K1", -30),
    "K2": record(BURN, "K2", -20),
    "K3": record(CROSS, "K3", -10),
    "K9": record(STRIP, "K9", 90),
}


def came_from(*lines: str) -> Score:
    tables = {"base_s": 8.0, "passes": [{"label": "print"}], "came_from": list(lines)}
    return from_tables(tables, "test")


def test_every_kind_of_strip_is_drawn_in_the_order_it_was_made() -> None:
    """A strip, a burn strip and a cross, each with what was picked from it."""
    score = came_from("K3 B1-B2", "K2 C, burn of sky", "K1 B-C")
    found, left = figures_of(score, AT, PAGES.get)
    assert left == []
    strip, burn, cross = found
    assert isinstance(strip, StripFigure)
    assert isinstance(burn, StripFigure)
    assert isinstance(cross, CrossFigure)
    assert (strip.mark, strip.what, strip.choice) == ("K1", "filter 00, cloud", "B-C")
    assert [one.letter for one in strip.patches if one.picked] == ["B", "C"]
    assert burn.what == "burn sky, soft"
    assert [one.letter for one in burn.patches] == list("EDCBA")  # A lies at the right
    assert cross.picked == ((1, 0), (1, 1))


def test_a_later_strip_of_the_same_mark_is_another_prints() -> None:
    """What was made after the print, or is in no book, is told in words as it is written."""
    lines = ("K9 B", "L7 C", "from 8 x 10 to 12 x 16 in, magnification 3 to 4.5")
    found, left = figures_of(came_from(*lines), AT, PAGES.get)
    assert found == []
    assert left == list(lines)


def test_what_was_laid_beside_it_by_hand_is_drawn_once() -> None:
    """A strip that the score names and that was laid there too is one figure."""
    found, _ = figures_of(came_from("K1 B"), AT, PAGES.get, (PAGES["K1"], PAGES["K2"]))
    assert [one.mark for one in found] == ["K1", "K2"]
    assert found[1].choice == ""


def test_a_strip_shows_its_own_picture() -> None:
    """The dry strip lies over its letters, none of it cut off at its ends."""
    image = BytesIO()
    Image.linear_gradient("L").rotate(90).resize((400, 100)).save(image, "PNG")
    found, _ = figures_of(came_from("K1 B"), AT, PAGES.get, (), {"id-K1": image.getvalue()})
    assert isinstance(found[0], StripFigure)
    drawn = strip_figure(found[0], 60.0, 1.0, measure).marks
    assert [mark for mark in drawn if isinstance(mark, Picture)]
    assert {"A", "E"} <= {mark.text for mark in drawn if isinstance(mark, Words)}
    with Image.open(BytesIO(filled(image.getvalue(), 8.0))) as cut:
        assert abs(cut.width / cut.height - 8.0) < 0.2
        ends = sorted(cut.getpixel((x, cut.height // 2)) for x in (2, cut.width - 3))
    assert ends[0] < 10
    assert ends[1] > 245
