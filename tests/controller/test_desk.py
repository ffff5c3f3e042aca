"""The desk and the menu: what lies ready, and how a foot asks for it."""

from __future__ import annotations

import pytest

from controller.desk import Desk, Made
from controller.errors import BadInput, Refused
from controller.foot import FootTimes
from controller.lamp import Calibration, LampLimits, ns
from controller.menu import Menu
from controller.orders import Order, Ordered
from controller.plan import Expose
from controller.ports import Cue, Sound
from controller.printing import Printing, plan_print
from controller.rig.file import load_rig
from controller.strip import Strip

RIG = load_rig("tungsten")
MADE = Desk(made=Made(record_id="r1", mark="K1", strip=Strip(base_s=8, patches=3)))


def test_a_pick_becomes_the_next_print() -> None:
    """Half-way between A and B of a third-stop strip from 8 s: 8.98 s, judged wet."""
    desk, picked = MADE.pick("A-B")
    assert picked.dose_s == pytest.approx(8 * 2 ** (1 / 6))
    assert desk.printing
    assert desk.printing.picked_from == "K1 A-B"
    plan, _ = desk.plan(Order.PRINT, RIG)
    assert [e.dose_s for _, e in plan.exposures()] == pytest.approx([picked.dose_s])


def test_dry_down_is_taken_off_once_and_only_from_what_was_judged_wet() -> None:
    """10 % less for a wet judgement, nothing for a dry one; picking again does not compound."""
    printing = Printing(dose_s=20, dry_down_percent=10)
    assert printing.exposure_s == pytest.approx(18.0)
    assert printing.model_copy(update={"judged": "dry"}).exposure_s == 20
    desk = MADE.model_copy(update={"printing": printing})
    for _ in range(2):
        desk, picked = desk.pick("B")
    assert desk.printing
    assert desk.printing.dose_s == pytest.approx(picked.dose_s)
    assert desk.printing.exposure_s == pytest.approx(picked.dose_s * 0.9)


def test_what_cannot_be_done_is_refused() -> None:
    """No print before a pick; no print too short or too long for the lamp."""
    with pytest.raises(BadInput):
        Desk().plan(Order.PRINT, RIG)
    with pytest.raises(BadInput):
        Desk().pick("A")
    for dose_s in (0.1, 500):
        with pytest.raises(Refused):
            plan_print(Printing(dose_s=dose_s), Calibration(), LampLimits())


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
