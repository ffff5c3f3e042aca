"""Where paper is, as the unit is told of it, and what that forbids."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from controller.desk.orders import Order
from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.events import Fate, Remark, RunBegun, RunEnded, SheetBegun, SheetEnded
from controller.exposing.told import BoxIs
from controller.keeper import Edge
from controller.ports import Cue, NewSheet
from controller.room.budget import STOCK, Where
from controller.room.groups import Doing, group_lights
from controller.room.model import Groups, Kind, Light, Place, Result, ResultKind, Room
from controller.room.watch import ALL_NEW, BOX, FORGOTTEN_S, LAYING_S, PaperWatch, ScreenIs

TODAY = date(2025, 3, 1)


def room(**fields) -> Room:
    """A safelight of 100 s at the easel and 50 s at the trays, and a screen of 200 s."""
    lights = (
        Light(name="amber", kind=Kind.SAFELIGHT, relay="amber"),
        Light(name="screen", kind=Kind.SCREEN, levels=(50, 100)),
    )
    times = {
        ("amber", Place.EASEL): 100.0,
        ("amber", Place.TRAYS): 50.0,
        ("screen:50", Place.EASEL): 200.0,
        ("screen:50", Place.TRAYS): 200.0,
        ("screen:100", Place.EASEL): 20.0,
        ("screen:100", Place.TRAYS): 20.0,
    }
    tests = tuple(
        Result(
            lights=(name,),
            at=at,
            paper="",
            date=datetime(2025, 1, 1),
            kind=ResultKind.HAND,
            safe_s=safe_s,
        )
        for (name, at), safe_s in times.items()
    )
    return Room(lights=lights, tests=tests, **fields)


def watch(*, has_switch: bool = False, lit: bool | None = True, **fields) -> PaperWatch:
    paper = PaperWatch(
        room(**fields),
        now_ns=0,
        day=TODAY,
        outputs={"lamp": False, "amber": lit},
        strip_mm2=200 * 250 / 2,
        has_switch=has_switch,
    )
    if has_switch:
        paper.step(0, BoxIs(False))
    return paper


def ask(paper: PaperWatch, at_s: float, mark: str = "K1", size: tuple[int, int] = (200, 250)):
    return paper.step(ns(at_s), Cue(hands=NewSheet(mark, *size)))


def begin(paper: PaperWatch, at_s: float = 0.0, kind: str = "print") -> None:
    paper.step(ns(at_s), RunBegun("r1", kind, "", "{}", "{}", {}, "rig"))


def laid(paper: PaperWatch, at_s: float, mark: str = "K1") -> None:
    paper.step(ns(at_s), SheetBegun("r1", mark, 200, 250))


def end(paper: PaperWatch, at_s: float, mark: str = "K1", fate: Fate = Fate.DONE) -> list:
    return paper.step(ns(at_s), SheetEnded("r1", mark, fate))


def words(said: list) -> list[str]:
    return [one.text for one in said]


def test_a_print_is_counted_from_its_prompt_to_the_stop_bath() -> None:
    """10 s of 100 at the easel and 20 s of 50 at the trays are half of its safe time."""
    paper = watch()
    begin(paper)
    ask(paper, 5)
    laid(paper, 10)
    end(paper, 15)
    said, _ = paper.order(ns(35), Order.IN_STOP, "K1")
    assert said == "K1 in the stop bath, 50 % of the safe time"
    paper.step(ns(500))
    assert paper.account("K1").used == pytest.approx(0.5)


def test_lights_that_are_off_do_not_count() -> None:
    """What the lamp's plan has put out fogs nothing."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    paper.step(ns(10), Edge("amber", lit=False, at_ns=ns(10)))
    laid(paper, 20)
    paper.step(ns(300))
    assert paper.account("K1").used == pytest.approx(0.1)


def test_a_light_that_is_not_known_counts_as_lit() -> None:
    """Unknown is never taken for dark."""
    paper = watch(lit=None)
    begin(paper)
    ask(paper, 0)
    paper.step(ns(20))
    assert paper.account("K1").used == pytest.approx(0.2)


def test_it_is_spoken_at_80_and_at_100_percent_when_due() -> None:
    """Each once, and ``next_ns`` says when."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    laid(paper, 1)
    assert paper.next_ns == ns(80)
    assert words(paper.step(ns(80))) == ["K1, 80 percent of the safe time"]
    assert words(paper.step(ns(100))) == ["K1, the safe time is used up"]
    assert paper.step(ns(140)) == []


def test_a_print_near_its_limit_is_marked_in_the_book() -> None:
    """And one that is not near is left alone."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    laid(paper, 1)
    end(paper, 85)
    _, out = paper.order(ns(86), Order.IN_STOP, "K1")
    assert out == [Remark("r1", "fog: 87 % of the safe time", mark="K1")]
    begin(paper, 90)
    ask(paper, 90, "K2")
    laid(paper, 91, "K2")
    end(paper, 95, "K2")
    _, out = paper.order(ns(96), Order.IN_STOP, "K2")
    assert out == []


def test_a_prompt_that_stands_for_long_counts_a_minute() -> None:
    """The box is shut again while nobody comes; from the tap on it counts anew."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    assert paper.next_ns == ns(LAYING_S)
    paper.step(ns(LAYING_S))
    paper.step(ns(1000))
    assert paper.account("K1").used == pytest.approx(0.6)
    laid(paper, 1000)
    paper.step(ns(1010))
    assert paper.account("K1").used == pytest.approx(0.7)


def test_with_a_switch_a_sheet_is_out_when_the_box_opens() -> None:
    """The prompt alone takes no paper out; the box and its stock are counted while it is open."""
    paper = watch(has_switch=True)
    begin(paper)
    ask(paper, 0)
    assert paper.account("K1").used == 0
    paper.step(ns(50), BoxIs(True))
    paper.step(ns(60), BoxIs(False))
    laid(paper, 60)
    paper.step(ns(70))
    assert paper.account("K1").used == pytest.approx(0.2)
    assert paper.account(BOX).used == pytest.approx(0.1)


def test_later_sheets_carry_what_the_box_has_had() -> None:
    """Paper that lay in an open box is not fresh."""
    paper = watch(has_switch=True)
    paper.step(0, BoxIs(True))
    paper.step(ns(30), BoxIs(False))
    begin(paper, 40)
    ask(paper, 40)
    assert paper.account("K1").used == pytest.approx(0.3)
    paper.order(ns(50), Order.NEW_BOX)
    ask(paper, 60, "K2")
    assert paper.account("K2").used == 0


def test_strips_carry_what_the_cutting_cost() -> None:
    """Cutting starts the count, the stock carries it, and new strips begin anew."""
    paper = watch()
    said, _ = paper.order(0, Order.CUTTING)
    assert "box is shut" in said
    paper.order(ns(20), Order.BOX_SHUT)
    begin(paper, 30)
    ask(paper, 30, "K1", (200, 25))
    assert paper.account("K1").used == pytest.approx(0.2)
    ask(paper, 30, "K2")
    paper.order(ns(30), Order.NEW_BOX)
    paper.order(ns(30), Order.CUTTING, ALL_NEW)
    assert paper.account(STOCK).used == pytest.approx(0.0)


def test_paper_put_back_keeps_what_it_has() -> None:
    """In the box nothing is added; out again it goes on."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    laid(paper, 1)
    end(paper, 10)
    paper.order(ns(10), Order.PUT_AWAY, "K1")
    paper.step(ns(1000))
    assert paper.account("K1").used == pytest.approx(0.1)
    assert paper.choices(Order.OUT_AGAIN) == ["K1"]
    paper.order(ns(1000), Order.OUT_AGAIN, "K1")
    paper.step(ns(1005))
    assert paper.account("K1").used == pytest.approx(0.2)


def test_a_sheet_that_is_fogged_on_purpose_has_no_budget() -> None:
    """A fog test says nothing at 80 percent."""
    paper = watch()
    begin(paper, kind="fog test")
    ask(paper, 0)
    laid(paper, 1)
    assert paper.step(ns(200)) == []
    end(paper, 201)
    assert paper.account("K1").used == 0


def test_a_sheet_that_nobody_develops_is_forgotten() -> None:
    """After half an hour at the trays it has long been wet, whoever forgot to say so."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    laid(paper, 1)
    end(paper, 10)
    paper.step(ns(10 + FORGOTTEN_S))
    assert paper.account("K1").where is Where.STOP


def test_the_screen_counts_at_its_brightness_and_not_behind_the_curtain() -> None:
    """Half as bright is what was tested at 50; black is none."""
    paper = watch(lit=False)
    begin(paper)
    paper.step(0, ScreenIs(40))
    ask(paper, 0)
    paper.step(ns(20), ScreenIs(0))
    paper.step(ns(50), ScreenIs(100))
    paper.step(ns(52))
    assert paper.account("K1").used == pytest.approx(20 / 200 + 2 / 20)


def test_lights_may_go_on_when_every_print_is_far_enough_in_the_fix() -> None:
    """One cue, for the last of them; before it white light is given only if asked twice."""
    paper = watch(fixed_s=90)
    begin(paper)
    for n, mark in enumerate(("K1", "K2")):
        ask(paper, 10 * n, mark)
        laid(paper, 10 * n + 1, mark)
        end(paper, 10 * n + 5, mark)
    paper.step(ns(20), RunEnded("r1", Fate.DONE))
    paper.order(ns(30), Order.IN_STOP, "K1")
    assert "K2" in paper.may_light(ns(31), "room light")
    paper.order(ns(40), Order.IN_STOP, "K2")
    assert "not fixed" in paper.may_light(ns(60), "room light")
    assert paper.may_light(ns(62), "room light") == "", "asked twice"
    assert "not fixed" in paper.may_light(ns(64), "room light"), "and that is used up"
    assert paper.next_ns == ns(130)
    assert words(paper.step(ns(130))) == ["lights may go on"]
    assert paper.step(ns(140)) == []
    assert paper.may_light(ns(141), "room light") == ""


def test_an_open_box_has_no_white_light_however_often_it_is_asked_for() -> None:
    """There a whole box of paper lies."""
    paper = watch(has_switch=True)
    paper.step(0, BoxIs(True))
    assert paper.may_light(ns(1), "room light") == "the paper box is open"
    assert paper.may_light(ns(2), "room light") == "the paper box is open"


def test_a_restart_keeps_what_sheets_had_and_owns_to_what_it_does_not_know() -> None:
    """Time in between lay under nobody knows which light."""
    paper = watch()
    begin(paper)
    ask(paper, 0)
    laid(paper, 1)
    paper.step(ns(30))
    left = paper.left(1000.0)
    again = PaperWatch(
        room(), now_ns=0, day=TODAY, outputs={}, strip_mm2=1, left=left, wall_s=1060.0
    )
    account = again.account("K1")
    assert account.used == pytest.approx(0.3)
    assert account.unknown_ns == ns(60)
    assert again.account("K1").where is Where.EASEL


def test_an_order_for_a_sheet_that_is_not_there_is_refused() -> None:
    """It says which sheets there are."""
    paper = watch()
    with pytest.raises(BadInput, match="no such sheet"):
        paper.order(0, Order.IN_STOP, "K9")


def test_a_switch_that_has_told_nothing_leaves_the_box_open() -> None:
    """It may be unplugged; what is not known is not taken for shut."""
    paper = PaperWatch(
        room(), now_ns=0, day=TODAY, outputs={"amber": True}, strip_mm2=1, has_switch=True
    )
    paper.step(ns(10))
    assert paper.box_open
    assert paper.account(BOX).used == pytest.approx(0.1)


def test_groups_choose_by_what_the_hands_are_doing() -> None:
    """Lights of no group, and those that may not be switched, are left alone."""
    groups = Groups(composing=("amber",), trays=("sink",))
    lights = tuple(
        Light(name=name, kind=Kind.SAFELIGHT, relay=name, switchable=name != "sodium")
        for name in ("amber", "sink", "sodium", "other")
    )
    made = Room(lights=lights, groups=groups)
    outputs = dict.fromkeys(("amber", "sink", "sodium", "other"), True)
    assert group_lights(made, Doing.COMPOSING, outputs) == {"amber": True, "sink": False}
    assert group_lights(made, Doing.EASEL, outputs) == {"amber": False, "sink": False}
    assert group_lights(made, Doing.TRAYS, outputs) == {"amber": False, "sink": True}
    assert group_lights(made, Doing.TRAYS, {}) == {}
