"""The dry-down test: a wet reference, and pieces with less and less."""

from __future__ import annotations

import pytest

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.exposing.around import Around
from controller.plan import Curtain, Expose, Plan, Sheet
from controller.score.dry_down import USUAL_PERCENT, DryDownTest, matched, plan_dry_down
from controller.score.model import Flash, PaperUsed, Score
from tests.controller.score.scores import split
from tests.controller.score.test_doses import burn, changed, dodge


def wanted(score: Score | None = None, *percents: float, place: str = "") -> DryDownTest:
    return DryDownTest(
        score=score or split(),
        percents=percents or USUAL_PERCENT,
        place=place,
        width_mm=100,
        height_mm=60,
    )


def plan(test: DryDownTest, limits: LampLimits | None = None) -> Plan:
    return plan_dry_down(test, Calibration(), limits or LampLimits(), Around())


def pieces(made: Plan) -> list[dict[str, float]]:
    """Give what each piece gets, by the exposure's label without the piece's own part."""
    found: list[dict[str, float]] = []
    for action in made.actions:
        if isinstance(action, Sheet):
            found.append({})
        if isinstance(action, Expose):
            found[-1][action.label.rpartition(", ")[0]] = pytest.approx(action.dose_s)
    return found


def test_the_first_piece_is_whole_and_the_others_have_less() -> None:
    """The wet reference gets all of it, each other so many percent less of every pass."""
    made = plan(wanted(None, 5, 10))
    assert pieces(made) == [
        {"soft": 12, "hard": 6},
        {"soft": 11.4, "hard": 5.7},
        {"soft": 10.8, "hard": 5.4},
    ]
    says = [action.say for action in made.actions if isinstance(action, Sheet)]
    assert says == [
        "piece 1 of 3, to be kept wet",
        "piece 2 of 3, 5 percent less",
        "piece 3 of 3, 10 percent less",
    ]
    assert made.actions.count(Curtain(False)) == 2


def test_the_usual_series() -> None:
    """Four to fourteen percent, and every exposure has a label of its own."""
    made = plan(wanted())
    assert wanted().taken_off() == (0, 4, 6, 8, 10, 12, 14)
    labels = [expose.label for _, expose in made.exposures()]
    assert len(set(labels)) == len(labels) == 14


def test_a_flash_is_the_same_on_every_piece() -> None:
    """It belongs to bare easel light and the paper's threshold, and follows nothing."""
    made = plan(wanted(changed(split(), flash=Flash(dose_s=2)), 10))
    assert pieces(made) == [
        {"flash": 2, "soft": 12, "hard": 6},
        {"flash": 2, "soft": 10.8, "hard": 5.4},
    ]


def test_the_papers_own_dry_down_is_left_out() -> None:
    """It is what the test is to find."""
    score = changed(split(), paper=PaperUsed(dry_down="8%"))
    assert pieces(plan(wanted(score, 10)))[0] == {"soft": 12, "hard": 6}


def test_on_a_place_it_has_the_handwork_that_touches_it() -> None:
    """In the middle of nowhere it has none; a dodge becomes shorter with its pass."""
    score = changed(
        split(),
        burns=(burn("sky", "+1", "soft"), burn("door", "4s", "hard")),
        dodges=(dodge("sky", "3s", "soft", "1s"), dodge("house", "2s", "soft")),
    )
    assert pieces(plan(wanted(score, 10))) == [{"soft": 12, "hard": 6}, {"soft": 10.8, "hard": 5.4}]
    assert not any(expose.handwork for _, expose in plan(wanted(score, 10)).exposures())
    made = plan(wanted(score, 10, place="sky"))
    assert pieces(made) == [
        {"soft": 12, "hard": 6, "burn sky": 12},
        {"soft": 10.8, "hard": 5.4, "burn sky": 10.8},
    ]
    works = [expose.handwork for _, expose in made.exposures() if expose.handwork]
    assert [[(w.begin_s, w.end_s) for w in work] for work in works] == [
        [pytest.approx((1, 4))],
        [pytest.approx((0.9, 3.6))],
    ]
    assert {a.place for a in made.actions if isinstance(a, Sheet)} == {"sky"}


def test_what_cannot_be_is_refused() -> None:
    """A place that is not there, two pieces alike, and a piece too short for the lamp."""
    with pytest.raises(BadInput, match="no region 'tower'; right would be sky or door or house"):
        plan(wanted(None, 8, place="tower"))
    with pytest.raises(BadInput, match=r"two pieces would get 8 % less; right would be each once"):
        plan(wanted(None, 8, 8.0000001))
    with pytest.raises(Refused, match=r"hard: 5.16 s is less than this lamp can be trusted with"):
        plan(wanted(None, 14), LampLimits(least_pulse_s=5.5))


@pytest.mark.parametrize("percent", [0, 4, 5, 7.5, 14])
def test_a_match_is_a_piece_or_lies_between_two(percent: float) -> None:
    """Nought is the paper that does not change."""
    assert matched(wanted(), percent) == percent


@pytest.mark.parametrize("percent", [3.9, 14.1, -1, float("nan")])
def test_what_no_piece_had_is_no_match(percent: float) -> None:
    """Nothing is made up beyond the pieces."""
    with pytest.raises(BadInput, match="right would be 0, or 4 to 14"):
        matched(wanted(), percent)
