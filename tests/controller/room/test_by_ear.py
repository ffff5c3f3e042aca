"""Tests of the room as a foot asks for them, and their reading, one question after the other."""

from __future__ import annotations

from datetime import datetime

import pytest

from controller.errors import BadInput
from controller.rig.file import load_rig
from controller.room.asking import plan_sheet
from controller.room.by_ear import ALL_WHITE, HIDDEN, NO_OTHER, SHOWS, SheetRead
from controller.room.change import flash_of, with_flash, with_group, without_at_work
from controller.room.file import room_of, to_toml
from controller.room.fog_sheets import CoinCheck, FlashStrip, FogTest, WhichLight
from controller.room.model import Flash, Kind, Light, ResultKind, Room
from controller.room.proving import can_be_left_out, offers, sheet_called

WHEN = datetime(2025, 3, 1, 20, 0)
GREY = Flash(paper="", exposure_s=0.8)


def room(*names: str, **fields) -> Room:
    lights = tuple(Light(name=name, kind=Kind.SAFELIGHT, relay=name) for name in names)
    return Room(lights=lights, **fields)


def test_first_comes_the_flash_and_then_what_needs_it() -> None:
    """Without a flash nothing but the strip and the coin can be made."""
    assert offers(room("amber")) == ["flash strip", "coin check"]
    many = offers(room("amber", "red", flash=(GREY,)))
    assert many[0] == "which light"
    assert "fog test of red" in many
    assert "which light" not in offers(room("amber", flash=(GREY,)))
    assert offers(room()) == []


def test_the_flash_belongs_to_a_paper() -> None:
    """Another paper needs its own, and a newer one of the same takes its place."""
    made = room("amber", paper="warm")
    assert flash_of(made) is None
    made = with_flash(made, Flash(paper="Warm", exposure_s=1.0))
    made = with_flash(made, Flash(paper="warm", exposure_s=2.0))
    assert [one.exposure_s for one in made.flash] == [2.0]
    assert flash_of(made) == made.flash[0]
    assert flash_of(made.model_copy(update={"paper": "cold"})) is None


def test_a_room_with_a_flash_is_written_and_read(tmp_path) -> None:
    """It stands in the file like everything else."""
    made = room("amber", flash=(GREY,))
    assert room_of(to_toml(made), "room.toml") == made


@pytest.mark.parametrize("text", ["flash strip", "fog test", "fog test of red", "coin check"])
def test_what_is_offered_can_be_planned(text: str) -> None:
    """Each becomes a plan on the imagined rig, at the easel and at the trays."""
    rig = load_rig("bad-room")
    made = room("ceiling", "red", flash=(GREY,))
    for words in (text, f"{text} at the trays"):
        plan = plan_sheet(sheet_called(words, made), rig, made)
        assert plan.actions
    sheet = sheet_called("fog test of red at the trays", made)
    assert isinstance(sheet, FogTest)
    assert (sheet.lights, sheet.place, sheet.flash_s) == (("red",), "trays", 0.8)


@pytest.mark.parametrize(
    ("text", "said"),
    [("fog tests", "no test of the room"), ("fog test of blue", "no light 'blue'")],
)
def test_what_is_not_known_is_refused(text: str, said: str) -> None:
    """With what there is."""
    with pytest.raises(BadInput, match=said):
        sheet_called(text, room("amber"))


def test_a_fog_test_without_a_flash_is_refused() -> None:
    """It names the strip that finds it."""
    with pytest.raises(BadInput, match="a flash strip finds it"):
        sheet_called("fog test", room("amber"))


def test_a_fog_test_asks_for_before_and_after() -> None:
    """Two questions, and the reading of both sides."""
    read = SheetRead("K2", FogTest(lights=("amber",), flash_s=1))
    assert read.question
    assert read.question.answers[:2] == ("before, none", "before, step 1")
    read = read.answered("before, step 4")
    assert read.question
    assert read.question.answers[0] == "after, none"
    read = read.answered("after, step 2")
    assert read.question is None
    [result] = read.results(WHEN)
    assert result.kind is ResultKind.FOG
    assert result.before
    assert result.after
    assert (result.before.clean_s, result.before.changed_s) == (240, 480)
    assert (result.after.clean_s, result.after.changed_s) == (60, 120)


def test_which_light_asks_until_there_is_no_other() -> None:
    """Each column that differs is named once."""
    read = SheetRead("K2", WhichLight(lights=("amber", "red"), flash_s=1))
    read = read.answered("red differs")
    assert read.question
    assert "red differs" not in read.question.answers
    read = read.answered("all together differs").answered(NO_OTHER)
    assert read.question is None
    changed = {one.lights: one.after.changed_s for one in read.results(WHEN) if one.after}
    assert changed[("red",)] == 240
    assert changed[("amber",)] is None


@pytest.mark.parametrize(("answer", "changed"), [(SHOWS, True), (HIDDEN, False)])
def test_a_coin_shows_or_does_not(answer: str, changed: bool) -> None:
    """One question."""
    read = SheetRead("K2", CoinCheck(lights=("amber",))).answered(answer)
    [result] = read.results(WHEN)
    assert result.before
    assert (result.before.changed_s is not None) is changed


def test_a_flash_strip_gives_the_flash_of_the_paper() -> None:
    """The first light grey is what the other tests take."""
    read = SheetRead("K1", FlashStrip(base_s=0.4, paper="warm")).answered("C")
    assert read.results(WHEN) == []
    assert read.flash() == Flash(paper="warm", exposure_s=0.8)


def test_an_answer_that_was_not_offered_is_refused() -> None:
    """It says which there are."""
    read = SheetRead("K1", FlashStrip(base_s=0.4, patches=3))
    with pytest.raises(BadInput, match="A or B or C"):
        read.answered("K")
    with pytest.raises(BadInput, match="it has been read"):
        read.answered("A").answered("B")


def test_a_group_that_is_set_first_leaves_the_others_as_they_burn() -> None:
    """Where no groups were, every light burned; only what is set is another."""
    made = with_group(room("amber", "red"), "easel", ["red"])
    assert made.groups.lists() == {
        "composing": ("amber", "red"),
        "easel": ("red",),
        "trays": ("amber", "red"),
    }


def test_a_light_that_is_left_out_burns_while_no_paper_is_out() -> None:
    """The cure by foot: and the fog test that follows is of what is left."""
    made = without_at_work(room("amber", "red", flash=(GREY,)), "red")
    assert made.groups.composing == ("amber", "red")
    assert made.groups.easel == made.groups.trays == ("amber",)
    assert can_be_left_out(made) == ["amber"]
    sheet = sheet_called("fog test", made)
    assert isinstance(sheet, FogTest)
    assert sheet.lights == ("amber",)


def test_a_flash_strip_without_a_grey_says_what_to_do() -> None:
    """And keeps nothing."""
    read = SheetRead("K1", FlashStrip(base_s=0.4)).answered(ALL_WHITE)
    assert read.flash() is None
    assert "open the lens" in read.flash_missed
