"""What is typed about boxes of paper: read, or refused in one sentence that says what is right."""

from __future__ import annotations

import pytest

from controller.boxes.asked import (
    AskedBox,
    AskedEye,
    AskedSheet,
    box_asked,
    limits_asked,
    patches_asked,
    seen_asked,
    sheets_asked,
)
from controller.boxes.control import Figure, Limits
from controller.boxes.fitting import LATER
from controller.boxes.measured import mean_of
from controller.boxes.model import Base, Batch, Developing
from controller.boxes.sheet import PaperSheet
from controller.errors import BadInput

BATCH = Batch(1, "pearl", "", "", "", None, "12", "", Developing("ours 1+9", 90.0), LATER)
SHORT = PaperSheet(paper="pearl", base_s=1.0, patches=5)


def test_a_box_is_read_as_it_was_typed():
    """Spaces do not count, a short word stands for a base, and a time is a time."""
    box = box_asked(AskedBox(" pearl  matt ", base="RC", opened="2026-11-26", time="1m30"))
    assert (box.name, box.base, box.opened) == ("pearl matt", Base.RESIN_COATED, "2026-11-26")
    assert box.developing == Developing("", 90.0)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (AskedBox(""), "is no name"),
        (AskedBox("a/b"), "is no name"),
        (AskedBox("pearl", base="glass"), "fibre or resin-coated"),
        (AskedBox("pearl", opened="26.11."), "2026-11-26"),
        (AskedBox("pearl", time="soon"), "--time"),
    ],
)
def test_a_box_that_cannot_be_is_refused(asked: AskedBox, told: str):
    """The sentence names the option, and what would be right."""
    with pytest.raises(BadInput, match=told):
        box_asked(asked)


def test_a_split_is_three_sheets_and_a_set_one_for_each_filter():
    """The developing is the box's own where nothing else is typed."""
    split = sheets_asked(BATCH, AskedSheet(split="00,5", hard="2", lux="0.5"))
    assert [one.filters for one in split] == ["00", "5", "00+5"]
    assert {(one.lux, one.developer, one.time_s) for one in split} == {(0.5, "ours 1+9", 90.0)}
    each = sheets_asked(BATCH, AskedSheet(filters=("2", "none"), time="2m"))
    assert [(one.filter, one.time_s) for one in each] == [("2", 120.0), ("", 120.0)]


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (AskedSheet(split="5,5"), "is no pair"),
        (AskedSheet(split="00,5", filters=("2",)), "three sheets"),
        (AskedSheet(mode="hat"), "card or window"),
        (AskedSheet(lux="0"), "is no light"),
        (AskedSheet(patches="4"), "5 to 26"),
        (AskedSheet(tablet="0.1,0.1,0.2"), "no denser"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(asked: AskedSheet, told: str):
    """Before any paper is used."""
    with pytest.raises(BadInput, match=told):
        sheets_asked(BATCH, asked)


def test_patches_may_be_read_once_or_twice_or_not():
    """Each patch counts by the mean of its own readings."""
    times = patches_asked({"A": "0.06", "B": "0.10 0.12", "C": "-", "E": "1.8"}, SHORT)
    densities, uncertain = mean_of(times, SHORT)
    assert densities == [0.06, pytest.approx(0.11), None, None, 1.8]
    assert uncertain[1] < uncertain[0]
    assert patches_asked({}, SHORT) == []


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"B": "o.1"}, "patch B: 'o.1' is no number"),
        ({"B": "9"}, "9 at patch B"),
        ({"A": "1.8", "E": "0.1"}, "the densities fall"),
    ],
)
def test_patches_that_cannot_be_are_refused(typed: dict[str, str], told: str):
    """The sentence names the patch."""
    with pytest.raises(BadInput, match=told):
        patches_asked(typed, SHORT)


def test_what_an_eye_saw_is_read_and_the_usual_white_and_black_stand_for_none():
    """A grey without a density is refused."""
    seen = seen_asked(AskedEye("B,E", "C=0.9"))
    assert (seen.first_grey, seen.grey_density, seen.white, seen.black) == ("B", 0.9, 0.06, 2.05)
    with pytest.raises(BadInput, match="density of the reference"):
        seen_asked(AskedEye("B,E", "C"))
    with pytest.raises(BadInput, match="two patches"):
        seen_asked(AskedEye("B"))


def test_limits_are_read():
    """Empty limits are the usual ones; the smaller comes first."""
    assert limits_asked("", "") == Limits()
    assert limits_asked("0.03", "").of(Figure.SPEED) == (0.03, 0.10)
    with pytest.raises(BadInput, match="no limits"):
        limits_asked("0.2", "")
