"""Plans made from a score: what falls where, what is asked for and when, and what is refused."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.exposing.around import Around
from controller.exposing.bench import Bench as Known
from controller.plan import Action, Confirm, Curtain, Expose, Go, Lights, Plan, Sheet
from controller.ports import Carrier, Filter, Lens, Shade
from controller.score.amount import seconds, stops
from controller.score.doses import Kind, exposures, region_doses
from controller.score.model import Flash, Pass, Score, SetUp
from controller.score.plan import plan_score, plan_trial
from tests.controller.exposing.asked import as_asked
from tests.controller.score.scores import doable_scores, split
from tests.controller.score.test_doses import burn, changed, dodge

LAMP, LIMITS = Calibration(0.1, 0.02), LampLimits()
TRUSTING = LampLimits(least_pulse_s=0.0, longest_on_s=100_000)  # a lamp that can do anything
AROUND = Around(lights_off={"red": 1.0}, lights_back={"red": True})
slowly = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def plan(score: Score, limits: LampLimits = LIMITS, **more: Any) -> Plan:
    return plan_score(score, LAMP, limits, AROUND, **more)


def handworked() -> Score:
    return changed(
        split(),
        setup=SetUp(aperture="8"),
        burns=(burn("sky", "+1", "soft"), burn("door+house", "3s", "hard")),
        dodges=(dodge("door", "1/2", "hard"), dodge("water+elsewhere", "2s", "soft", "middle")),
    )


# --- hands that do what a plan says, and paper that adds up ---------------------------------------


@dataclass
class Bench:
    """The hands at an enlarger and the paper beneath, region by region: what a plan comes to."""

    cells: dict[str, set[tuple[int, int]]]
    light: str = "none"
    lens: str = ""
    card: set[tuple[int, int]] | None = None  # where light passes it; None: no card
    negative: bool = True
    gone: bool = False
    doses: dict[str, dict[str, float]] = field(default_factory=dict)
    sheets: list[dict[str, dict[str, float]]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def do(self, action: Action) -> None:
        match action:
            case Sheet():
                self.doses = {name: {} for name in self.cells}
                self.sheets.append(self.doses)
            case Confirm(hands=Filter(name=name), say=say):
                assert name != self.light, f"{say} is asked for, and is there already"
                assert ("away" in say) is (name == "none")
                self.light = name
            case Confirm(hands=Lens(aperture=aperture)):
                assert aperture != self.lens
                self.lens = aperture
            case Confirm(hands=Carrier(negative=negative)):
                assert self.negative is not negative
                self.negative = negative
            case Go(hands=hands):
                self.gone = True
                if isinstance(hands, Shade):
                    assert hands.tool == "card"
                    self.card = cells_in(hands.area) if hands.held else None
            case Expose():
                self.expose(action)
            case _:
                pass

    def expose(self, action: Expose) -> None:
        assert self.gone, f"{action.label} comes without a go"
        self.gone = False
        assert action.filter == self.light
        key = self.light if self.negative else "flash"
        for name, cells in self.cells.items():
            dose_s = action.dose_s
            if self.card is not None:
                assert cells <= self.card or not cells & self.card
                dose_s = dose_s if cells <= self.card else 0.0
            # paper sees what is left when every stretch in which it is shaded is cut out
            dark: list[tuple[float, float]] = sorted(
                (work.begin_s, work.end_s)
                for work in action.handwork
                if cells & cells_in(work.shade.area)
            )
            seen_s = 0.0
            for begin_s, end_s in dark:
                dose_s -= max(0.0, end_s - max(begin_s, seen_s))
                seen_s = max(seen_s, end_s)
            self.doses[name][key] = self.doses[name].get(key, 0.0) + dose_s


def cells_in(area: tuple[str, ...]) -> set[tuple[int, int]]:
    return {(y, x) for y, row in enumerate(area) for x, cell in enumerate(row) if cell == "#"}


def cells_of(score: Score) -> dict[str, set[tuple[int, int]]]:
    found: dict[str, set[tuple[int, int]]] = {}
    for y, row in enumerate(score.sketch):
        for x, letter in enumerate(row):
            found.setdefault(score.regions.get(letter, "elsewhere"), set()).add((y, x))
    return found or {"elsewhere": set()}


def carried_out(score: Score, made: Plan) -> list[dict[str, dict[str, float]]]:
    """Give what each sheet gets of a plan, by region and filter; nothing that is no light."""
    lens = score.setup.aperture or "working"
    bench = Bench(cells_of(score), lens=lens)
    for action in as_asked(made, Known(lens=lens)):
        bench.do(action)
    assert bench.negative or made.actions[-1].label.startswith("flash")  # type: ignore[union-attr]
    return [
        {
            name: {light: pytest.approx(s, abs=2e-3) for light, s in doses.items() if s > 1e-3}
            for name, doses in sheet.items()
        }
        for sheet in bench.sheets
    ]


def planned(score: Score) -> dict[str, dict[str, float]]:
    return {
        name: {light: s for light, s in doses.items() if s > 1e-3}
        for name, doses in region_doses(score).items()
    }


@slowly
@given(doable_scores, st.integers(1, 3), st.booleans())
def test_hands_that_do_as_told_give_each_region_its_dose(
    score: Score, sheets: int, alternate: bool
) -> None:
    """For any score, on any number of sheets, in either order: each region gets what is planned.

    The hands also find every prompt needed: nothing is asked for that is so already, and nothing
    falls under another filter than the one that is told.
    """
    made = plan(score, TRUSTING, sheets=sheets, alternate=alternate)
    assert carried_out(score, made) == [planned(score)] * sheets
    labels = [expose.label for _, expose in made.exposures()]
    assert len(set(labels)) == len(labels)
    assert type(made).from_json(made.to_json()) == made


@slowly
@given(doable_scores, st.data())
def test_a_trial_piece_gets_what_its_place_gets(score: Score, data: st.DataObject) -> None:
    """All passes, and only the handwork that touches the place."""
    place = data.draw(st.sampled_from(list(region_doses(score))))
    made = plan_trial(score, place, LAMP, TRUSTING, AROUND, size_mm=(100, 60))
    (piece,) = carried_out(score, made)
    assert piece[place] == planned(score)[place]
    kinds = [one.kind for one in exposures(score) if not one.regions or place in one.regions]
    assert len(list(made.exposures())) == len(kinds)
    assert kinds.count(Kind.PASS) == len(score.passes)
    for _, expose in made.exposures():
        for work in expose.handwork:
            assert cells_of(score)[place] <= cells_in(work.shade.area)


# --- what is asked for ----------------------------------------------------------------------------


def told(made: Plan) -> list[str]:
    return [action.say for action in as_asked(made) if isinstance(action, Confirm | Sheet | Go)]


def test_the_order_of_a_split_print() -> None:
    """Filter, sheet, go, curtain, lights, exposure; then the next filter, and so on."""
    made = plan(handworked())
    assert told(made) == [
        "lens to 8",
        "filter 00",
        "new sheet",
        "soft, 12.0 s",
        "filter 5",
        "hard, 6.0 s; door held back",
        "filter 00",
        "burn sky, 12.0 s",
        "filter 5",
        "burn door and house, 3.0 s",
    ]
    first = next(i for i, action in enumerate(made.actions) if isinstance(action, Go))
    assert made.actions[first + 1 : first + 3] == (Curtain(True), Lights({"red": False}, 1.0))
    assert isinstance(made.actions[first + 3], Expose)
    assert made.after == AROUND.after()
    assert made.kind == "print"


def test_a_plan_lights_nothing_without_a_go() -> None:
    """Every exposure has a tap of its own before it; without it the plan is refused."""
    made = plan(handworked(), sheets=2)
    goes = [i for i, action in enumerate(made.actions) if isinstance(action, Go)]
    assert len(goes) == len(list(made.exposures())) == 8
    for go in goes:
        with pytest.raises(ValueError, match="needs a go before it"):
            Plan("print", "a", made.actions[:go] + made.actions[go + 1 :])


def test_a_filter_is_taken_away_where_none_follows() -> None:
    """No filter is a setting too, and is not asked for where none was in the light."""
    score = Score(
        base_s=8,
        passes=(Pass(label="a"), Pass(label="b", filter="5"), Pass(label="c"), Pass(label="d")),
    )
    asked = [a for a in as_asked(plan(score)) if isinstance(a, Confirm)][1:]
    assert [(a.say, a.hands) for a in asked] == [
        ("filter 5", Filter("5")),
        ("filter away", Filter("none")),
    ]


def test_a_head_is_set_by_its_numbers() -> None:
    """Two settings of a colour head are two filters."""
    score = Score(
        base_s=8, passes=(Pass(label="a", yellow=60), Pass(label="b", yellow=5, magenta=130))
    )
    asked = [a.hands for a in as_asked(plan(score)) if isinstance(a, Confirm)][1:]
    assert asked == [Filter("60Y", 60, 0), Filter("5Y 130M", 5, 130)]


def test_a_lens_is_set_for_a_pass_that_differs_and_back_again() -> None:
    """Only where the aperture changes is it asked for."""
    score = Score(
        base_s=8,
        setup=SetUp(aperture="8"),
        passes=(Pass(label="a"), Pass(label="b", aperture="11"), Pass(label="c")),
    )
    assert told(plan(score)) == [
        "lens to 8",
        "new sheet",
        "a, 8.0 s",
        "lens to 11",
        "b, 8.0 s",
        "lens to 8",
        "c, 8.0 s",
    ]


def test_a_flash_is_of_bare_light() -> None:
    """The negative goes out for it and comes in again, on each sheet."""
    score = changed(split(), flash=Flash(dose_s=2))
    out, back = "negative out, even light on the easel", "negative in, as it was"
    assert [say for say in told(plan(score, sheets=2)) if "negative" in say] == [
        out,
        back,
        out,
        back,
    ]
    says = told(plan(score))
    assert says.index(out) < says.index("flash, 2.0 s") < says.index(back) < says.index("filter 00")


def test_alternate_sheets_go_backwards_and_save_filters() -> None:
    """Every second sheet begins where the one before it ended: filter, flash, card and all."""
    score = changed(split(), flash=Flash(dose_s=2), burns=(burn("sky", "+1", "hard"),))
    straight, alternate = plan(score, sheets=4), plan(score, sheets=4, alternate=True)
    order = [expose.label for _, expose in alternate.exposures()]
    assert order[:8] == [
        "flash, sheet 1",
        "soft, sheet 1",
        "hard, sheet 1",
        "burn sky, sheet 1",
        "burn sky, sheet 2",
        "hard, sheet 2",
        "soft, sheet 2",
        "flash, sheet 2",
    ]

    def asked(made: Plan, word: str) -> int:
        return sum(word in say for say in told(made))

    assert (asked(straight, "negative"), asked(alternate, "negative")) == (8, 5)
    assert asked(alternate, "filter") < asked(straight, "filter")


def test_several_sheets_are_counted_and_the_screen_comes_back_between() -> None:
    """Each sheet says which of how many, and has exposures of its own names."""
    made = plan(split(), sheets=3)
    sheets = [i for i, action in enumerate(made.actions) if isinstance(action, Sheet)]
    assert [made.actions[i].say for i in sheets] == [f"sheet {n} of 3" for n in (1, 2, 3)]
    for first, second in pairwise(sheets):
        assert made.actions[first:second].count(Curtain(False)) == 1
        assert made.actions[first:second].count(Curtain(True)) == 1
    assert {e.label for _, e in made.exposures()} == {
        f"{label}, sheet {n}" for label in ("soft", "hard") for n in (1, 2, 3)
    }


@pytest.mark.parametrize("sheets", [0, -1, 201])
def test_a_number_of_sheets_has_bounds(sheets: int) -> None:
    """None, or a ream of them, is a slip."""
    with pytest.raises(BadInput, match=f"{sheets} is no number of sheets; right would be 1 to 200"):
        plan(split(), sheets=sheets)


def test_a_card_is_held_for_a_burn_and_away_for_the_next_pass() -> None:
    """Light falls through its hole on the regions named; the next sheet's pass sees none of it."""
    jobs = [a.hands for a in plan(handworked(), sheets=2).actions if isinstance(a, Go)]
    assert jobs[:5] == [
        None,
        None,
        Shade("card", "sky", ("####", "#...", "....")),
        Shade("card", "door and house", ("....", ".##.", "##..")),
        Shade("card", "", (), held=False),
    ]
    ticking = [e.ticks for _, e in plan(handworked()).exposures()]
    assert ticking == [True, True, True, True]
    assert not any(e.ticks for _, e in plan(split()).exposures())


def test_a_wand_is_held_over_its_regions() -> None:
    """The handwork of a pass has the area of the regions, between two doses."""
    soft = next(e for _, e in plan(handworked()).exposures() if e.label == "soft")
    (work,) = soft.handwork
    assert work.shade == Shade("wand", "water and elsewhere", ("....", "...#", "..##"))
    assert (work.begin_s, work.end_s) == pytest.approx((5, 7))


def test_a_trial_piece_is_small_and_lies_on_its_place() -> None:
    """One piece, named after its region; the handwork of others is left out."""
    made = plan_trial(handworked(), "door", LAMP, LIMITS, AROUND, size_mm=(100, 60))
    sheet = next(a for a in made.actions if isinstance(a, Sheet))
    assert (sheet.width_mm, sheet.height_mm, sheet.place) == (100, 60, "door")
    assert sheet.say == "trial piece on door"
    named = [part.rsplit(" ", 2)[0] for part in made.title.split(": ")[1].split(", ")]
    assert named == [e.label for _, e in made.exposures()], "and no burn that it does not get"
    assert made.kind == "trial piece"
    assert [e.label for _, e in made.exposures()] == ["soft", "hard", "burn door and house"]
    assert [len(e.handwork) for _, e in made.exposures()] == [0, 1, 0]
    with pytest.raises(BadInput, match="no region 'tower'; right would be sky or door or house"):
        plan_trial(handworked(), "tower", LAMP, LIMITS, AROUND, size_mm=(100, 60))


# --- what the lamp cannot do --------------------------------------------------------------------


def test_what_is_longer_than_the_lamp_may_burn_is_given_in_parts() -> None:
    """Equal pulses, none longer than the limit, with a rest between; burns by card as well."""
    limits = LampLimits(longest_on_s=20.0, rest_s=5.0)
    score = changed(split(), base_s=50, burns=(burn("sky", "30s", "soft"),))
    made = {e.label: e for _, e in plan(score, limits).exposures()}
    assert {label: (e.pulses, e.gap_s) for label, e in made.items()} == {
        "soft": (3, 5.0),
        "hard": (2, 5.0),
        "burn sky": (2, 5.0),
    }
    for expose in made.values():
        assert expose.dose_s / expose.pulses + LAMP.cold_lag_s <= 20.0


def test_handwork_cannot_be_given_in_parts() -> None:
    """A dodge needs one pulse: a pass too long for it is refused with the remedy."""
    score = changed(split(), base_s=50, dodges=(dodge("sky", "2s", "soft"),))
    with pytest.raises(Refused, match=r"soft: 50.0 s is longer than this lamp's limit.*open the"):
        plan(score, LampLimits(longest_on_s=20.0))
    # a trial piece of a place that the dodge does not touch has no handwork
    plan_trial(score, "door", LAMP, LampLimits(longest_on_s=20.0), AROUND, size_mm=(100, 60))


@pytest.mark.parametrize(
    "update",
    [
        {"passes": (Pass(label="soft", dose=seconds(0.2)),)},
        {"burns": (burn("sky", "1/60", "soft"),)},
        {"flash": Flash(dose_s=0.1)},
    ],
)
def test_what_is_too_short_for_the_lamp_is_refused(update: dict[str, Any]) -> None:
    """Below the least pulse nothing is exposed: pass, burn or flash."""
    with pytest.raises(Refused, match=r"less than this lamp can be trusted with; try close the"):
        plan(changed(split(), **update))


def test_dry_down_can_make_a_pass_too_short() -> None:
    """What counts is what is really exposed."""
    score = changed(split(), base_s=0.31, passes=(Pass(label="print", dose=stops(0)),))
    plan(score)
    paper = score.paper.model_copy(update={"dry_down": "8%"})
    with pytest.raises(Refused, match="print"):
        plan(changed(score, paper=paper))


def test_a_plan_is_called_after_the_print() -> None:
    """Title and exposures, and the number of sheets."""
    score = changed(split(), title="Harbour")
    assert plan(score).title == "Harbour: soft 12.0 s, hard 6.0 s"
    assert plan(score, sheets=2).title == "Harbour: soft 12.0 s, hard 6.0 s, 2 sheets"
