"""Converting a score: what moves together, what does not, and what it cannot become."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from controller.enlarger.converting import ADVICE
from controller.enlarger.filter_table import STARTING_POINTS, filter_name
from controller.errors import BadInput, Refused
from controller.score.amount import Unit, seconds, stops
from controller.score.convert import Wanted, compared, convert
from controller.score.doses import Kind, exposures, filter_of, region_doses
from controller.score.file import score_of, to_toml
from controller.score.model import Flash, PaperUsed, Pass, Score, SetUp
from tests.controller.score.scores import can_be_done, doable_scores, split
from tests.controller.score.test_doses import burn, changed, dodge

slowly = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def full() -> Score:
    """Give a score with something of every kind, in stops and in seconds."""
    return changed(
        split(),
        flash=Flash(dose_s=2),
        setup=SetUp(aperture="8", magnification=2, head_height_mm=300, column="20"),
        paper=PaperUsed(name="pearl", batch="A7", dry_down="8%"),
        burns=(burn("sky", "+1"), burn("door", "3s", "hard")),
        dodges=(dodge("house", "1/2", "soft"), dodge("water", "2s", "hard", ".5s")),
    )


def factors(before: Score, after: Score) -> dict[str, set[float]]:
    """Give by what each light of each region was multiplied."""
    found: dict[str, set[float]] = {}
    then = region_doses(after)
    for name, doses in region_doses(before).items():
        for light, dose_s in doses.items():
            if dose_s > 0.01:
                found.setdefault(light, set()).add(then[name][light] / dose_s)
    return found


# --- everything together ------------------------------------------------------------------------


def test_passes_burns_and_dodges_move_together_and_the_flash_stays() -> None:
    """From 2x to 4x all is 25/9 times as long, stops or seconds; the flash is as it was."""
    converted = convert(full(), Wanted(to_magnification=4))
    before, after = exposures(full()), exposures(converted.score)
    for old, new in zip(before, after, strict=True):
        factor = 1 if old.kind is Kind.FLASH else 25 / 9
        assert new.dose_s == pytest.approx(old.dose_s * factor, rel=1e-5)
        for held, moved in zip(old.held, new.held, strict=True):
            assert moved.begin_s == pytest.approx(held.begin_s * factor, abs=1e-4)
            assert moved.end_s == pytest.approx(held.end_s * factor, abs=1e-4)
    units = [one.amount.unit for one in (*converted.score.burns, *converted.score.dodges)]
    assert units == [Unit.STOPS, Unit.SECONDS, Unit.STOPS, Unit.SECONDS]
    assert converted.conversion.factor == pytest.approx(25 / 9)


def test_the_lines_tell_each_exposure_and_end_with_the_advice() -> None:
    """What is changed, then every exposure before and after, then one strip on the highlight."""
    lines = convert(full(), Wanted(to_magnification=4)).lines
    assert lines[0].startswith("magnification 2 to 4: x 2.78, +1.47 stops")
    assert lines[1:-1] == (
        "flash: 2.0 s, as it was",
        "soft: 11.0 s to 30.7 s",
        "  house held back: 3.2 s to 9.0 s",
        "hard: 5.5 s to 15.3 s",
        "  water held back: 1.8 s to 5.1 s",
        "burn sky, soft: 11.0 s to 30.7 s",
        "burn sky, hard: 5.5 s to 15.3 s",
        "burn door: 2.8 s to 7.7 s",
    )
    assert lines[-1] == ADVICE


def test_the_set_up_is_written_down_and_where_it_came_from() -> None:
    """The new magnification; head height and column were of the old one."""
    score = convert(full(), Wanted(to_magnification=4)).score
    assert score.setup == SetUp(aperture="8", magnification=4)
    assert len(score.came_from) == 1
    assert score.came_from[0].startswith("converted: magnification 2 to 4")
    again = convert(score, Wanted(to_magnification=2)).score
    assert len(again.came_from) == 2


@slowly
@given(doable_scores, st.floats(0.5, 10), st.floats(0.5, 10))
def test_every_region_changes_by_the_one_factor(score: Score, was: float, becomes: float) -> None:
    """Whatever the score, each light of each region is multiplied by the same."""
    try:
        converted = convert(score, Wanted(from_magnification=was, to_magnification=becomes))
    except Refused:
        assume(False)
    factor = ((1 + becomes) / (1 + was)) ** 2
    then = region_doses(converted.score)
    for region, doses in region_doses(score).items():
        for light, dose_s in doses.items():
            by = 1 if light == "flash" else factor
            assert then[region][light] == pytest.approx(dose_s * by, rel=1e-5, abs=1e-4)
    assert score_of(to_toml(converted.score), "a") == converted.score


@slowly
@given(doable_scores, st.floats(1, 8), st.floats(1, 8))
def test_there_and_back_gives_the_same_exposures(score: Score, was: float, becomes: float) -> None:
    """Converted to another size and back, every exposure is what it was."""
    try:
        there = convert(score, Wanted(from_magnification=was, to_magnification=becomes)).score
        back = convert(there, Wanted(to_magnification=was)).score
    except Refused:
        assume(False)
    for old, new in zip(exposures(score), exposures(back), strict=True):
        # seconds are written to the microsecond, and on the way back that grows with them
        assert new.dose_s == pytest.approx(old.dose_s, rel=1e-5, abs=1e-4)


@pytest.mark.parametrize(
    ("wanted", "factor"),
    [
        (Wanted(to_aperture="11"), 2),
        (Wanted(from_aperture="5.6", to_aperture="11"), 4),
        (Wanted(from_lux=4, to_lux=1), 4),
        (Wanted(paper="matt", from_speed_p=200, to_speed_p=100), 2),
        (Wanted(stops=Fraction(1, 2)), 2**0.5),
        (Wanted(to_magnification=4, to_aperture="5.6"), 25 / 18),
        (Wanted(size_mm=(400, 300)), 1),
        (Wanted(lamp="another"), 1),
    ],
    ids=str,
)
def test_what_is_changed_and_by_how_much(wanted: Wanted, factor: float) -> None:
    """Aperture, light reading, speed, a strip's stops, several at once, and what no factor has."""
    undried = changed(full(), judged="dry")
    converted = convert(undried, wanted)
    assert converted.conversion.factor == pytest.approx(factor)
    found = factors(undried, converted.score)
    assert found.pop("flash") == {1}
    for ones in found.values():
        for one in ones:
            assert one == pytest.approx(factor, rel=1e-5)


def test_the_flash_stays_at_the_lens_that_it_was_found_with() -> None:
    """Another aperture for the print leaves the flash its own, written down from now on."""
    score = convert(full(), Wanted(to_aperture="11")).score
    given_ = exposures(score)
    assert [one.aperture for one in given_] == ["8", *["11"] * (len(given_) - 1)]
    assert given_[0].dose_s == 2


def test_a_pass_with_an_aperture_of_its_own_is_not_multiplied_by_mistake() -> None:
    """It would stay where it is while its dose changed, so it is refused, with the remedy."""
    passes = (full().passes[0], full().passes[1].model_copy(update={"aperture": "11"}))
    with pytest.raises(BadInput, match="the pass 'hard' has an aperture of its own, 11"):
        convert(changed(full(), passes=passes), Wanted(to_aperture="5.6"))
    same = (full().passes[0], full().passes[1].model_copy(update={"aperture": "8"}))
    after = exposures(convert(changed(full(), passes=same), Wanted(to_aperture="5.6")).score)
    assert {one.aperture for one in after if one.kind is not Kind.FLASH} == {"5.6"}


def test_another_paper_has_a_dry_down_of_its_own() -> None:
    """What the old paper lost in drying says nothing of the new one; another batch keeps it."""
    other = convert(full(), Wanted(paper="matt", batch="B")).score.paper
    assert (other.name, other.batch, other.dry_down) == ("matt", "B", "")
    batch = convert(full(), Wanted(batch="B")).score.paper
    assert (batch.name, batch.batch, batch.dry_down) == ("pearl", "B", "8%")


@pytest.mark.parametrize(
    ("score", "wanted", "said"),
    [
        (split(), Wanted(), "nothing is changed"),
        (split(), Wanted(to_magnification=4), "the score does not say its magnification"),
        (split(), Wanted(to_aperture="11"), "the score does not say its aperture"),
        (split(), Wanted(to_lux=3), "one reading tells nothing"),
        (full(), Wanted(to_magnification=-1), "--to-magnification"),
        (full(), Wanted(to_aperture="9.9"), "no ring is engraved 9.9; right would be 9.5 or 10"),
        (
            full(),
            Wanted(filters=(("3", "4"),)),
            "no pass uses filter '3'; right would be one of",
        ),
        (full(), Wanted(filters=(("5", "9"),)), "no factor is known of filter '9'"),
        (full(), Wanted(filters=(("5", "4"), ("5", "3"))), "filter 5 is changed twice"),
        (full(), Wanted(from_lux=4, to_lux=1, to_aperture="11"), "already holds the change of"),
    ],
    ids=str,
)
def test_what_is_missing_or_wrong_is_named(score: Score, wanted: Wanted, said: str) -> None:
    """A conversion that cannot be made says what it lacks."""
    with pytest.raises(BadInput) as refused:
        convert(score, wanted)
    assert said in str(refused.value)


def test_what_no_file_could_hold_is_refused() -> None:
    """A base beyond an hour, or a burn that has become nothing, is not written."""
    with pytest.raises(Refused, match=r"the base would be 1600:00, and an hour is the most; try"):
        convert(changed(full(), base_s=3000), Wanted(stops=Fraction(5)))
    tiny = changed(full(), burns=(burn("sky", "0.000001s", "hard"),))
    with pytest.raises(Refused, match="a burn of 0s adds nothing"):
        convert(tiny, Wanted(stops=Fraction(-3)))


# --- filters ------------------------------------------------------------------------------------


def test_a_filter_moves_only_what_went_through_it() -> None:
    """From 5 to 3 the hard exposures are halved, and the soft ones are as they were."""
    score = changed(
        full(),
        burns=(
            burn("sky", "+1", "soft"),
            burn("door", "3s", "hard"),
            burn("water", "+1", "hard"),
            burn("house", "4s", "hard", "00"),
        ),
    )
    after = convert(score, Wanted(filters=(("5", "3"),))).score
    was, becomes = region_doses(score), region_doses(after)
    for name, doses in was.items():
        assert becomes[name]["00"] == pytest.approx(doses["00"], rel=1e-5)
        assert becomes[name]["3"] == pytest.approx(doses["5"] / 2, rel=1e-5)
        assert "5" not in becomes[name]
    assert [held.end_s - held.begin_s for one in exposures(after) for held in one.held] == (
        pytest.approx([12 * (1 - 2**-0.5) * 0.92, 0.92])
    )
    assert [one.dose.unit for one in after.passes] == [Unit.STOPS, Unit.STOPS]


def test_burns_through_filters_of_their_own_keep_their_light() -> None:
    """A burn in stops goes on following the base, and its light is what its own filter makes it."""
    score = changed(
        split(),
        burns=(burn("sky", "+1", "hard", "00"), burn("door", "+1", "soft", "5")),
    )
    after = convert(score, Wanted(filters=(("5", "3"),))).score
    assert region_doses(after)["sky"] == pytest.approx({"00": 12 + 6, "3": 3}, rel=1e-5)
    assert region_doses(after)["door"] == pytest.approx({"00": 12, "3": 3 + 6}, rel=1e-5)
    assert all(one.amount.follows for one in after.burns)


def test_two_filters_change_places_at_once() -> None:
    """Soft becomes hard while hard becomes soft; one does not go through both changes."""
    after = convert(split(), Wanted(filters=(("00", "5"), ("5", "00")))).score
    assert [(one.filter, one.dose_s) for one in exposures(after)] == [
        ("5", pytest.approx(24)),
        ("00", pytest.approx(3)),
    ]


@pytest.mark.parametrize("spelled", ["3½", "3.5", "3 1/2"])
def test_a_filter_is_known_however_its_half_is_written(spelled: str) -> None:
    """A score says it in one way, and the printer in another."""
    score = Score(base_s=8, passes=(Pass(label="a", filter="3 1/2"),))
    after = convert(score, Wanted(filters=((spelled, "4"),))).score
    assert after.passes[0].filter == "4"
    assert exposures(after)[0].dose_s == pytest.approx(16)


def test_no_filter_is_one_that_can_be_changed() -> None:
    """From none to 2 is a stop more; the settings of a head are no filter."""
    passes = (Pass(label="a"), Pass(label="b", yellow=60))
    after = convert(Score(base_s=8, passes=passes), Wanted(filters=(("none", "2"),))).score
    assert [filter_of(one) for one in after.passes] == ["2", "60Y"]
    assert [one.dose_s for one in exposures(after)] == pytest.approx([16, 8])


def test_a_burn_over_all_moves_with_the_only_pass() -> None:
    """Seconds over all of one pass went through its filter."""
    score = changed(split(), passes=split().passes[:1], burns=(burn("sky", "4s"),))
    after = convert(score, Wanted(filters=(("00", "5"),))).score
    assert region_doses(after)["sky"] == pytest.approx({"5": 24 + 8})


def by_filter(score: Score) -> dict[str, dict[str, float]]:
    """Give what each region gets under each filter, by one spelling; the flash apart."""
    return {
        name: {
            light if light == "flash" else filter_name(light): dose_s
            for light, dose_s in doses.items()
        }
        for name, doses in region_doses(score).items()
    }


@slowly
@given(doable_scores, st.sampled_from(["none", "00", "2", "3.5", "5"]))
def test_a_change_of_filter_and_back_is_none(score: Score, before: str) -> None:
    """For any score: through a filter that it lacks, only that light changes, by its factor."""
    used = {filter_name(filter_of(one)) for one in score.passes}
    used |= {filter_name(one.filter) for one in score.burns if one.filter}
    name = filter_name(before)
    assume(name in used)
    try:
        there = convert(score, Wanted(filters=((before, "4"),))).score
        back = convert(there, Wanted(filters=(("4", before),))).score
    except Refused:
        assume(False)
    factor = 4 / STARTING_POINTS.entry(name).factor
    was, becomes, again = by_filter(score), by_filter(there), by_filter(back)
    for region, doses in was.items():
        for light, dose_s in doses.items():
            moved = light == name
            expected = pytest.approx(dose_s * (factor if moved else 1), rel=1e-3, abs=2e-3)
            assert becomes[region]["4" if moved else light] == expected
            assert again[region][light] == pytest.approx(dose_s, rel=1e-3, abs=2e-3)
    assert can_be_done(there)


def test_compared_says_what_has_not_changed() -> None:
    """An exposure that is as it was is said to be."""
    other = changed(split(), passes=(split().passes[0], Pass(label="hard", dose=seconds(9))))
    assert compared(split(), other) == [
        "soft: 12.0 s, as it was",
        "hard, filter none: 6.0 s to 9.0 s",
    ]


def test_a_pass_in_stops_goes_on_in_stops() -> None:
    """A change of filter by a stop is a stop, as a printer writes it."""
    after = convert(split(), Wanted(filters=(("5", "3"),))).score
    assert after.passes[1].dose == stops(-2)


def test_doses_do_not_depend_on_how_wanted_is_told() -> None:
    """A magnification that the score knows need not be told, and one told is taken instead."""
    known: dict[str, Any] = {"to_magnification": 4.0}
    by_score = convert(full(), Wanted(**known))
    by_hand = convert(full(), Wanted(from_magnification=3, **known))
    assert by_score.conversion.factor == pytest.approx(25 / 9)
    assert by_hand.conversion.factor == pytest.approx(25 / 16)
