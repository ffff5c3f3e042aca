"""A print's record on one page: all of it there, on the page, and nothing over anything."""

from __future__ import annotations

import os
from io import BytesIO
from itertools import combinations
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader

from controller.book.entries import RemarkEntry
from controller.book.print_entries import (
    Edition,
    InEdition,
    PrintEntry,
    RoomThen,
    Signed,
    SignedPrint,
)
from controller.errors import BadInput, Refused
from controller.events import Fate
from controller.record_sheet.canvas import measure
from controller.record_sheet.figures import pale, read_picture, upright
from controller.record_sheet.gather import print_sheet, size_words
from controller.record_sheet.ink import CAP, At, Box, Face, Mark, Qr, Words, shortened, wrapped
from controller.record_sheet.model import (
    CrossFigure,
    Curve,
    PrintSheet,
    StripFigure,
    StripPatch,
    ToneMark,
)
from controller.record_sheet.page import BOTTOM, SIDE, lay_out, page_size, record_pdf
from controller.score.extra import Extra
from controller.score.file import from_tables
from controller.score.model import Score
from controller.score.wall_map_parts import Area
from tests.controller.imagined_scene import SCENE
from tests.controller.pictures.test_wall_map import scores
from tests.controller.score.pages import AT, page_of

LONG = "words that go on for longer than anybody would like to read them, " * 25
BARE = from_tables({"base_s": 8.0, "passes": [{"label": "print"}]}, "test")


def changed(**tables: Any) -> Score:
    return from_tables(SCENE.model_dump(mode="json", exclude_defaults=True) | tables, "test")


CROWDED = changed(
    title="A title that somebody has thought about for a whole afternoon in the rain, and more",
    negative="a sleeve number that is longer than sleeves are, with its frame and its year",
    burns=[
        {"regions": [name], "amount": amount, "over": over, "note": "edge feathered" * (n % 2)}
        for n, (name, amount, over) in enumerate(
            [
                *[(name, "+1/3", "soft") for name in SCENE.regions.values()][:8],
                ("sky", "3s", "hard"),
                ("quay", "+1", "hard"),
                ("sky", "+1/2", "hard"),
                ("cloud", "2s", "soft"),
            ]
        )
    ],
    process={"developer": LONG[:200], "time": "3 min", "toning": LONG[:300]},
    remarks=LONG,
    came_from=["K1 C", "K2 B-C", LONG[:100]],
)
UPRIGHT = changed(
    paper=SCENE.paper.model_dump() | {"width_mm": 203.2, "height_mm": 254.0}, flash={"dose_s": 1.5}
)
STRIPS = (
    *(
        StripFigure(
            f"K{n}",
            LONG[: 20 * n],
            "C",
            tuple(StripPatch(c, 8.0 + k, c == "C") for k, c in enumerate(letters)),
        )
        for n, letters in enumerate(["ABC", "ABCDE", "ABCDEFGHIJKLMN"])
    ),
    CrossFigure("K4", "00 by 5", "B1-B2", (8.0, 10.1, 12.7), (4.0, 5.0), ((1, 0), (1, 1))),
)
TONES = tuple(
    ToneMark(name, 0.1 + 0.15 * k, 0.3 + 0.01 * k, 0.02 * k)
    for k, name in enumerate((*SCENE.regions.values(), LONG[:40]))
)
CURVE = Curve(
    "a paper of no make", tuple((k / 10, min(2.1, 0.02 * k**2)) for k in range(20)), TONES
)


def day(_: object) -> str:
    return "26 November 2026"


def sheet_of(score: Score, *, sheets: int = 1, full: bool = False, **more: Any) -> PrintSheet:
    page = page_of(score, sheets=sheets)
    if full:
        image = BytesIO()
        Image.new("RGB", (300, 240), "grey").save(image, "PNG")
        remark = RemarkEntry("K1", "soft", LONG[:300], AT)
        page = msgspec.structs.replace(page, remarks=(remark,))
        more = {"curve": CURVE, "picture": image.getvalue()} | more
    made = print_sheet(page, day=day, **more)
    if full:
        made = msgspec.structs.replace(made, strips=STRIPS)
    return made


def text_of(sheet: PrintSheet) -> str:
    (page,) = PdfReader(BytesIO(record_pdf(sheet))).pages
    return " ".join(page.extract_text().replace("\u2212", "-").split())


def box(words: Words) -> tuple[float, float, float, float]:
    wide = measure(words.text, words.size, words.face) + words.spaced * max(0, len(words.text) - 1)
    left = words.x - {At.LEFT: 0, At.MIDDLE: wide / 2, At.RIGHT: wide}[words.at]
    return left, words.y - CAP * words.size, left + wide, words.y


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize(
    "sheet",
    [
        sheet_of(SCENE),
        sheet_of(BARE),
        sheet_of(UPRIGHT, sheets=3),
        sheet_of(CROWDED, sheets=20, full=True),
        sheet_of(BARE, full=True),
        sheet_of(changed(title="W" * 200, came_from=[]), full=True),
    ],
    ids=["demonstration", "bare", "upright", "crowded", "bare with figures", "one long word"],
)
def test_every_word_is_on_the_page_and_clear_of_every_other(sheet: PrintSheet, paper: str) -> None:
    """Little data or much, twelve burns and long texts: nothing lies over anything."""
    require_clear(page_size(paper), lay_out(sheet, page_size(paper)))


@settings(max_examples=150 if os.environ.get("DRYSIDE_LONG") else 8, deadline=None)
@given(scores(), st.sampled_from(["A4", "letter"]), st.integers(1, 12), st.booleans())
def test_any_score_makes_a_page(score: Score, paper: str, sheets: int, full: bool) -> None:
    """Random regions, passes, burns, names and sizes: a page with nothing over anything."""
    try:
        sheet = sheet_of(score, sheets=sheets, full=full)
    except Refused:  # a dodge longer than its pass, a dose below what a lamp can do
        return
    marks = lay_out(sheet, page_size(paper))
    require_clear(page_size(paper), marks)


def require_clear(size: tuple[float, float], marks: list[Mark]) -> None:
    """Hold all words against the page and each other, but labels within the sketch, which the
    wall map's tests hold against theirs.
    """
    frames = [mark.area for mark in marks if isinstance(mark, Box) and mark.line == 0.45]
    words = [mark for mark in marks if isinstance(mark, Words)]
    for one in words:
        left, top, right, bottom = box(one)
        assert left >= SIDE - 0.1, one
        assert right <= size[0] - SIDE + 0.1, one
        assert top >= 10, one
        assert bottom <= size[1] - BOTTOM + 0.1, one
    free = [one for one in words if not any(within(one, frame) for frame in frames)]
    for one, other in combinations(free, 2):
        a, b = box(one), box(other)
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] + 0.05 or b[3] <= a[1] + 0.05
        assert apart, (one, other)
    for one in free:
        left, top, right, bottom = box(one)
        for frame in frames:
            beside = right <= frame.x or left >= frame.x + frame.width
            assert beside or bottom <= frame.y or top >= frame.y + frame.height - 0.05, one


def within(words: Words, frame: Area) -> bool:
    in_width = frame.x <= words.x <= frame.x + frame.width
    return in_width and frame.y <= words.y <= frame.y + frame.height


def test_the_page_tells_what_was_exposed() -> None:
    """Title, mark, every exposure with its seconds and stops, dodges, paper, set-up, record."""
    text = text_of(sheet_of(SCENE))
    for words in ("Harbour, low tide", "K1", "soft 00", "-1/2", "10.41", "dodge door", "record r1"):
        assert words in text, words
    assert "burn cloud 00 +1/3 3.83 3.83" in text
    assert "variable contrast, pearl" in text


def test_burns_of_one_region_each_have_their_own_stops() -> None:
    """Twice the sky over two passes, once in seconds: stops stand where stops were meant."""
    steps = {step.label: step.stops for step in sheet_of(CROWDED).steps}
    assert (steps["burn sky"], steps["burn sky (2)"], steps["burn sky (3)"]) == ("+1/3", "", "+1/2")
    both = changed(burns=[{"regions": ["sky"], "amount": "+1"}])
    burned = [step.stops for step in sheet_of(both).steps if step.label.startswith("burn")]
    assert burned == ["+1", "+1"]


def test_what_fell_short_is_told_as_it_was() -> None:
    """A pass that was cut off has what was given beside what was planned."""
    page = page_of(SCENE, fell={"hard": 5.0})
    sheet = print_sheet(page, day=day)
    hard = next(step for step in sheet.steps if step.label == "hard")
    assert (round(hard.planned_s, 2), hard.given_s) == (10.41, 5.0)
    assert "10.41 5.00" in text_of(sheet)


def test_an_extra_stands_with_why_it_was_given() -> None:
    """In the table beneath what was planned, in its own words."""
    page = page_of(SCENE, Extra(dose_s=1.5, filter="5", region="quay", note="a little more"))
    text = text_of(print_sheet(page, day=day))
    assert "extra on quay 5 1.50 1.50 a little more" in text


def test_what_was_done_in_the_trays_stands_beside_the_map() -> None:
    """Step by step, beside what the score says of the process."""
    text = text_of(sheet_of(SCENE, trays=("developer, 2 min 5.0 s, 20.5 \u00b0C", "stop, 30.0 s")))
    assert "IN THE TRAYS developer, 2 min 5.0 s, 20.5 \u00b0C stop, 30.0 s" in text


def test_what_is_not_known_leaves_no_heading() -> None:
    """A print of which the book knows an exposure only has no empty paper, process or remarks."""
    text = text_of(sheet_of(BARE))
    assert "EXPOSURE" in text
    for heading in ("PAPER", "ENLARGER", "PROCESS", "REMARKS", "CURVE", "TEST STRIP"):
        assert heading not in text


def test_the_code_holds_the_record_id() -> None:
    """The QR code is the record's id, which `dryside book show` takes."""
    sheet = sheet_of(SCENE)
    codes = [mark.text for mark in lay_out(sheet, page_size("A4")) if isinstance(mark, Qr)]
    assert codes == ["r1"]


def test_the_same_record_gives_the_same_bytes_and_its_type_is_in_the_file() -> None:
    """Nothing of the hour is in it, and every typeface is embedded."""
    sheet = sheet_of(SCENE, full=True)
    data = record_pdf(sheet)
    assert data == record_pdf(sheet)
    (page,) = PdfReader(BytesIO(data)).pages
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    embedded = [font for font in fonts if "FontFile2" in str(font.get("/FontDescriptor", ""))]
    used = {str(font["/BaseFont"]) for font in fonts}
    assert len(embedded) >= 3
    assert used - {str(font["/BaseFont"]) for font in embedded} <= {"/Helvetica"}  # named, unused


def test_more_than_a_page_can_hold_is_refused() -> None:
    """A hundred passes are refused in one sentence instead of being cut off."""
    many = changed(
        passes=[{"label": f"pass {n}", "dose": "2s"} for n in range(100)], burns=[], dodges=[]
    )
    with pytest.raises(Refused, match="100 exposures"):
        lay_out(sheet_of(many), page_size("A4"))


def test_only_prints_and_known_pages() -> None:
    """A strip is no print, and a page of a size that nobody has is refused."""
    page = page_of(SCENE)
    record = msgspec.structs.replace(page.record, kind="strip")
    strip = msgspec.structs.replace(page, record=record)
    with pytest.raises(BadInput, match="mark of a print"):
        print_sheet(strip, day=day)
    with pytest.raises(BadInput, match="A4 or letter"):
        record_pdf(sheet_of(SCENE), paper="A0")


def test_texts_are_broken_and_cut_within_their_width() -> None:
    """No line is wider than asked, none is lost before the last, and dots tell what is missing."""
    lines = wrapped(LONG, 3.0, 60.0, measure, Face.ITALIC, most=4)
    assert len(lines) == 4
    assert lines[-1].endswith("\u2026")
    assert all(measure(line, 3.0, Face.ITALIC) <= 60.0 for line in lines)
    assert " ".join(wrapped(LONG, 3.0, 60.0, measure)) == LONG.strip()
    assert measure(shortened("W" * 90, 3.0, 20.0, measure), 3.0, Face.PLAIN) <= 20.0


def test_a_picture_keeps_its_proportions_and_its_top() -> None:
    """Too wide a one loses both its sides; one of a camera that was held upright is turned."""
    image = Image.new("L", (300, 100), 0)
    image.paste(255, (0, 0, 100, 100))
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned by a quarter, clockwise
    out, turned = BytesIO(), BytesIO()
    image.save(out, "PNG")
    image.save(turned, "JPEG", exif=exif)
    with Image.open(BytesIO(pale(out.getvalue(), 1.0))) as cut:
        assert cut.size == (100, 100)
        low, high = cut.getextrema()
        assert low == high > 100  # the black middle, made pale, and nothing of the white side
    assert read_picture(turned.getvalue(), "here") == (100, 300)
    with Image.open(BytesIO(upright(turned.getvalue()))) as stands:
        assert stands.size == (100, 300)
        assert stands.getpixel((50, 20)) > stands.getpixel((50, 280))
    with pytest.raises(BadInput, match="PNG or a JPEG"):
        read_picture(b"no picture", "here")


def test_a_print_is_named_by_its_title_or_its_negative_and_its_number_is_seen() -> None:
    """Never by a list of exposures; its edition, rating and fate stand beneath."""
    negative = changed(title="")
    assert sheet_of(negative).title == f"Negative {SCENE.negative}"
    page = page_of(SCENE, sheets=2)
    place = InEdition("Low tide", "3/25", AT)
    entry = PrintEntry(1, "r", "K2", AT, "", "", "", "", 4, "", "", "", None, Fate.DONE, (place,))
    text = text_of(print_sheet(page, day=day, mark="K2", prints={"K2": entry}))
    for words in ("3/25", "Low tide", "rated 4 of 5", f"negative {SCENE.negative}"):
        assert words in text, words


def test_the_edition_stands_with_its_copies_over_the_years() -> None:
    """Copies of other evenings, the sheets of this one without a number, and where each went."""
    signed = SignedPrint("1/25", Signed.COPY, 1, "P4", "another", 9, "the framer", AT)
    own = SignedPrint("2/25", Signed.COPY, 2, "K1", page_of(SCENE).record.record_id, 1, "", AT)
    edition = Edition("Low tide", "", 25, 3, "", AT, (signed, own))
    sheet = print_sheet(page_of(SCENE, sheets=2), day=day, mark="K1", edition=edition)
    assert [(one.number, one.mark, one.here) for one in sheet.edition] == [
        ("1/25", "P4", False),
        ("2/25", "K1", True),
        ("", "K2", False),
    ]
    text = text_of(sheet)
    assert "EDITION LOW TIDE" in text
    assert "the framer" in text


def test_sizes_are_told_as_paper_is_sold() -> None:
    """Inches where they come out whole or in quarters, else mm."""
    assert size_words(254.0, 203.2) == "10 \u00d7 8 in"
    assert size_words(304.8, 406.4) == "12 \u00d7 16 in"
    assert size_words(240, 300) == "240 \u00d7 300 mm"


def test_the_room_and_the_lamp_stand_with_the_print() -> None:
    """Lights that were proved, the lag that doses were counted with, the developer as measured."""
    room = RoomThen("2026-11-26", {"ceiling": "12 min", "lantern": "not proved"})
    entry = PrintEntry(1, "r", "K1", AT, "", "", "", "", None, "", "", "", 20.5, Fate.DONE)
    text = text_of(print_sheet(page_of(SCENE), day=day, room=room, prints={"K1": entry}))
    assert "ceiling 12 min" in text
    assert "lantern" not in text
    assert "developer measured at 20.5" in text
