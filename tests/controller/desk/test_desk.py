"""The desk and the menu: what lies ready, and how a foot asks for it."""

from __future__ import annotations

import pytest

from controller.desk.desk import Desk, Lying, Made
from controller.desk.menu import Menu
from controller.desk.orders import Order, Ordered
from controller.enlarger.lamp import ns
from controller.errors import BadInput, Refused
from controller.exposing.foot import FootTimes
from controller.plan import Expose
from controller.ports import Cue, Sound
from controller.rig.file import load_rig
from controller.score.extra import Extra
from controller.score.model import PaperUsed, Pass, Score
from controller.score.new import demonstration
from controller.strips.cross import Cross, Steps
from controller.strips.strip import Strip

RIG = load_rig("tungsten")
ONLY = Pass(label="print")
MADE = Desk(made=Made(record_id="r1", mark="K1", strip=Strip(base_s=8, patches=3)))


def test_a_pick_becomes_the_next_print() -> None:
    """Half-way between A and B of a third-stop strip from 8 s: 8.98 s, judged wet."""
    desk, picked = MADE.pick("A-B")
    assert picked.dose_s == pytest.approx(8 * 2 ** (1 / 6))
    assert desk.score
    assert desk.score.came_from == ("K1 A-B",)
    plan, _ = desk.plan(Order.PRINT, RIG)
    assert [e.dose_s for _, e in plan.exposures()] == pytest.approx([picked.dose_s])


def test_dry_down_is_taken_off_once_and_only_from_what_was_judged_wet() -> None:
    """10 % less for a wet judgement, nothing for a dry one; picking again does not compound."""
    paper = PaperUsed(name="pearl", dry_down="10%")
    desk = MADE.model_copy(update={"score": Score(base_s=20, paper=paper, passes=(ONLY,))})
    for judged, factor in (("wet", 0.9), ("dry", 1.0), ("wet", 0.9)):
        desk, picked = desk.model_copy(update={"judged": judged}).pick("B")
        plan, _ = desk.plan(Order.PRINT, RIG)
        doses = [e.dose_s for _, e in plan.exposures()]
        assert doses == pytest.approx([picked.dose_s * factor])


def test_what_cannot_be_done_is_refused() -> None:
    """No print before a pick; no print too short for the lamp; no extra before a print."""
    with pytest.raises(BadInput):
        Desk().plan(Order.PRINT, RIG)
    with pytest.raises(BadInput):
        Desk().pick("A")
    with pytest.raises(BadInput):
        Desk().plan(Order.ADD, RIG, "a third")
    with pytest.raises(Refused):
        Desk(score=Score(base_s=0.1, passes=(ONLY,))).plan(Order.PRINT, RIG)


def test_a_cell_of_a_cross_becomes_both_passes() -> None:
    """B2 of a cross from 8 and 4 s by thirds: 10.08 s soft and 5.04 s hard."""
    cross = Cross(soft=Steps(filter="00", base_s=8), hard=Steps(filter="5", base_s=4))
    desk, picked = Desk(made=Made(record_id="r1", mark="K1", cross=cross)).pick("B2")
    assert picked.said == "picked B2, 10.1 and 5.0 seconds"
    plan, _ = desk.plan(Order.PRINT, RIG)
    assert [(e.filter, round(e.dose_s, 2)) for _, e in plan.exposures()] == [
        ("00", 10.08),
        ("5", 5.04),
    ]


def test_an_extra_goes_on_with_the_print_that_lies_there() -> None:
    """A third of a stop more of the last pass, under the same mark, counted on."""
    score = demonstration()
    lying = Lying(record_id="r7", mark="L2", number=5, score=score)
    desk = Desk(score=score, lying=lying)
    assert desk.orders()[:2] == [Order.PRINT, Order.ADD]
    run = desk.run(Order.ADD, RIG, desk.choices(Order.ADD)[1])
    extra = Extra.from_json(run.extra)
    assert extra is not None
    assert extra.note.startswith("a third more of ")
    assert (run.record_id, run.mark, run.number) == ("r7", "L2", 5)
    hard = next(e for _, e in desk.plan(Order.PRINT, RIG)[0].exposures() if e.label == "hard")
    extra = [e for _, e in run.plan.exposures()]
    assert [e.filter for e in extra] == ["5"]
    assert extra[0].dose_s == pytest.approx(hard.dose_s * (2 ** (1 / 3) - 1))


def test_a_dry_down_test_is_offered_for_a_paper_that_has_none() -> None:
    """Seven pieces of what lies ready; with a dry-down written it is not offered again."""
    desk = Desk(score=Score(base_s=12, passes=(ONLY,)))
    assert Order.DRY_DOWN in desk.orders()
    plan, _ = desk.plan(Order.DRY_DOWN, RIG)
    doses = [e.dose_s for _, e in plan.exposures()]
    assert doses == pytest.approx([12 * (1 - p / 100) for p in (0, 4, 6, 8, 10, 12, 14)])
    known = Score(base_s=12, passes=(ONLY,), paper=PaperUsed(dry_down="8%"))
    assert Order.DRY_DOWN not in Desk(score=known).orders()


def test_a_trial_piece_is_asked_for_by_its_region() -> None:
    """With a sketch there are regions to choose from; a piece as large as a strip is laid."""
    desk = Desk(score=demonstration())
    assert Order.TRIAL in desk.orders()
    assert "door" in desk.choices(Order.TRIAL)
    plan, _ = desk.plan(Order.TRIAL, RIG, "door")
    assert [e.label for _, e in plan.exposures()] == ["soft", "hard"]


def test_a_desk_of_the_first_version_opens() -> None:
    """A print of one exposure becomes a score of one pass, with its dry-down and lens."""
    old = {
        "version": 1,
        "judged": "wet",
        "printing": {"dose_s": 12.7, "dry_down_percent": 8, "aperture": "8", "filter": "2"},
    }
    desk = Desk.model_validate(old)
    assert desk.score
    plan, _ = desk.plan(Order.PRINT, RIG)
    assert [(e.filter, e.dose_s) for _, e in plan.exposures()] == [("2", pytest.approx(11.684))]


@pytest.mark.parametrize("order", [Order.STRIP, Order.FOCUS, Order.PLACING])
def test_an_empty_desk_can_be_worked_at(order: Order) -> None:
    """Strip, focus light and placing light need nothing beforehand."""
    plan, _ = Desk().plan(order, RIG)
    assert any(isinstance(a, Expose) for a in plan.actions) == (order is Order.STRIP)


def words(said: list[object]) -> list[str]:
    return [each.text for each in said if isinstance(each, Cue) and each.text]


def press(menu: Menu, desk: Desk, at_s: float, for_s: float) -> list[object]:
    said: list[object] = list(menu.step(ns(at_s), desk, True))
    step_s = 0.1
    while for_s > step_s:
        at_s += step_s
        for_s -= step_s
        said += menu.step(ns(at_s), desk)
    return said + list(menu.step(ns(at_s + for_s), desk, False))


def test_a_long_press_speaks_orders_and_a_tap_takes_one() -> None:
    """The likeliest first: after a strip, "pick"; then its patches, one by one."""
    menu = Menu(FootTimes())
    assert words(press(menu, MADE, 10.0, 1.7)) == ["pick"]
    assert words(press(menu, MADE, 12.5, 0.2)) == ["A"]
    assert words(list(menu.step(ns(14.8), MADE))) == ["A B"]
    assert press(menu, MADE, 15.2, 0.2)[-1] == Ordered("pick", "A-B")


def test_silence_orders_nothing_and_a_tap_alone_does_nothing() -> None:
    """A choice that is let pass is gone; a tap at an idle bench only sounds."""
    menu = Menu(FootTimes())
    said = press(menu, Desk(), 10.0, 1.7)
    at_s = 12.0
    while at_s < 30:
        said += menu.step(ns(at_s), Desk())
        at_s += 0.5
    assert words(said) == ["strip", "focus light", "placing light"]
    assert not any(isinstance(each, Ordered) for each in said)
    tap = press(menu, Desk(), 31.0, 0.2)
    assert [each.sound for each in tap if isinstance(each, Cue)] == [Sound.PRESS, Sound.NOT_TAKEN]
