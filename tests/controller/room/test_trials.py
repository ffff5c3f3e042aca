"""Tests of the enlarger, the paper and the baths: plans, order, verdicts."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.exposing.around import Around
from controller.plan import Confirm, Dwell, Expose, Plan, Shine, Wait
from controller.ports import Lens
from controller.room import evenness, wrong
from controller.room.change import with_typed, with_verdict
from controller.room.file import room_of, to_toml
from controller.room.fogged_on_purpose import TESTS
from controller.room.guided import SHEET_DATA
from controller.room.model import Kind, Light, Place, Room
from controller.room.reading import SHEETS
from controller.room.ruled_out import WORDS, require_in_order, ruled_out
from controller.room.trial_sheets import LeakSheet, plan_leak
from controller.room.trials import BLADES, GREYS, GUIDED, KINDS, SPECS, plan_trial, trial_of
from controller.room.wrong import COMMANDS, Settles, Symptom, lines

LAMP, LIMITS = Calibration(0.06, 0.0), LampLimits(longest_on_s=60.0)
ROOM = Around(lights_off={"amber": 0.5}, lights_back={"amber": True})
TODAY = date(2025, 3, 1)


def plan_of(word: str) -> Plan:
    fields: dict[str, object] = {"flash_s": 2.0} if word in GREYS else {}
    if word == BLADES:
        fields["lights"] = ("amber",)
    return plan_trial(trial_of(word, fields), LAMP, LIMITS, ROOM, {"amber": "amber"})


def proved() -> Room:
    room = Room(lights=(Light(name="amber", kind=Kind.SAFELIGHT),))
    return with_typed(room, ["amber"], Place.EASEL, 300.0, datetime(2025, 2, 1))


@pytest.mark.parametrize("word", KINDS)
def test_every_trial_has_a_plan_that_the_book_can_read_again(word: str) -> None:
    """Its plan survives being written, and its kind leads back to its word."""
    plan = plan_of(word)
    assert Plan.from_json(plan.to_json()) == plan
    assert SPECS[plan.kind][0] == word


@pytest.mark.parametrize("settles", Settles)
def test_every_test_of_the_list_is_run_by_the_command_beside_it(settles: Settles) -> None:
    """What the list says to type is a test that exists, and stands in the lines."""
    *_, told = COMMANDS[settles].partition("dryside room test ")
    assert told.split()[0] in (*KINDS, "fog")
    assert any(COMMANDS[settles] in line for one in Symptom for line in lines(one))


@pytest.mark.parametrize("word", GUIDED)
def test_cautions_come_before_anything_is_touched(word: str) -> None:
    """The first prompts are the cautions, and that the makers' sheets go before them."""
    said = [one.say for one in plan_of(word).actions if isinstance(one, Confirm)]
    cautions = wrong.TESTS[WORDS[word]].cautions
    assert said[: len(cautions) + 1] == [*cautions, SHEET_DATA]


def test_a_leak_is_looked_for_behind_a_capped_lens_after_the_flash() -> None:
    """Flash, cap, and only then the lamp; beyond the lamp's limit in parts, each with its go."""
    test = LeakSheet(flash_s=1.0, print_s=30.0, factor=4.0)
    plan = plan_leak(test, LAMP, LIMITS, ROOM)
    labels = [one.label for _, one in plan.exposures()]
    assert labels == ["flash", "leak 1", "leak 2", "leak 3"]
    assert sum(e.dose_s for _, e in plan.exposures()) == pytest.approx(121.0)
    capped = plan.actions.index(Confirm("lens capped, the cap well on", Lens("capped")))
    first = next(n for n, one in plan.exposures() if one.label == "leak 1")
    assert plan.exposures().__next__()[0] < capped < first
    assert not [one for one in plan.actions if isinstance(one, Dwell)]
    with pytest.raises(Refused, match="its limit"):
        plan_leak(LeakSheet(flash_s=1.0, print_s=600.0), LAMP, LIMITS, ROOM)


def test_alignment_looks_at_four_corners_and_prints_only_when_asked() -> None:
    """Focus light for the middle and each corner; a sheet only with an exposure."""
    looked = [one for one in plan_of("alignment").actions if isinstance(one, Shine)]
    assert len(looked) == 5
    assert not list(plan_of("alignment").exposures())
    printed = plan_trial(trial_of("alignment", {"flash_s": 8.0}), LAMP, LIMITS, ROOM, {})
    assert [one.label for _, one in printed.exposures()] == ["alignment"]


def test_twice_the_fix_is_waited_for() -> None:
    """The blank that is compared is fixed for twice the usual time."""
    waits = [one.time_s for one in plan_of("fix").actions if isinstance(one, Wait)]
    assert 2 * waits[0] == waits[1]


def test_paper_of_a_test_is_not_watched() -> None:
    """Every sheet that is fogged on purpose is known to who counts the fog of paper."""
    assert set(SHEETS) | set(SPECS) == TESTS


# --- the order --------------------------------------------------------------------------------


def test_who_would_realign_in_an_unproved_room_is_sent_to_the_fog_test() -> None:
    """Fog first, then leak, then evenness; then the screws may be turned."""
    room = Room(lights=(Light(name="amber", kind=Kind.SAFELIGHT),))
    for settled, said in ((False, "not proved.*test fog"), (True, "test leak")):
        with pytest.raises(Refused, match=said):
            require_in_order(Settles.ALIGNMENT, proved() if settled else room, today=TODAY)
    room = proved()
    for word in ("leak", "evenness"):
        room = with_verdict(room, word, datetime(2025, 2, 2), found=False)
    require_in_order(Settles.ALIGNMENT, room, today=TODAY)


def test_the_newest_verdict_counts_and_a_room_keeps_it() -> None:
    """A leak found later opens the question again; the file brings all verdicts back."""
    room = with_verdict(proved(), "leak", datetime(2025, 2, 2), found=False, note="K3")
    assert ruled_out(room, today=TODAY) == {Settles.FOG, Settles.LEAK}
    room = with_verdict(room, "leak", datetime(2025, 2, 3), found=True)
    assert ruled_out(room, today=TODAY) == {Settles.FOG}
    assert room_of(to_toml(room), "room.toml") == room
    with pytest.raises(BadInput, match="verdict"):
        with_verdict(room, "moon", datetime(2025, 2, 3), found=True)


def test_a_room_is_not_proved_by_a_short_time_or_with_a_light_unknown() -> None:
    """Two minutes are too few for handling, and a light without a test proves nothing."""
    short = Room(lights=(Light(name="amber", kind=Kind.SAFELIGHT),))
    short = with_typed(short, ["amber"], Place.EASEL, 120.0, datetime(2025, 2, 1))
    assert ruled_out(short, today=TODAY) == frozenset()
    more = proved().model_copy(
        update={"lights": (*proved().lights, Light(name="red", kind=Kind.SAFELIGHT))}
    )
    assert ruled_out(more, today=TODAY) == frozenset()
    assert ruled_out(Room(), today=TODAY) == frozenset()


# --- evenness ---------------------------------------------------------------------------------


@given(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3))
def test_two_sheets_tell_light_from_development(light: float, paper: float) -> None:
    """A tilt of the light stays on the easel, one of the paper changes sides with it."""

    def sheet(turned: int) -> list[float]:
        left, right = 0.8 - light / 2 - turned * paper / 2, 0.8 + light / 2 + turned * paper / 2
        return [left, right, left, right, 0.8]

    found = {one.of: one for one in evenness.uneven(sheet(1), sheet(-1))}
    for of, tilt in ((evenness.LIGHT, light), (evenness.PAPER, paper)):
        if abs(tilt) >= evenness.EVEN + 1e-6:
            assert found[of].by == pytest.approx(abs(tilt))
            assert found[of].side == ("right" if tilt > 0 else "left")
        elif abs(tilt) < evenness.EVEN - 1e-6:
            assert of not in found


def test_a_corner_and_a_centre_are_named() -> None:
    """One corner against its opposite; a brighter centre, which one sheet shows as well."""
    (corner,) = evenness.uneven([0.6, 0.6, 0.6, 0.8, 0.65])
    assert (corner.side, corner.than) == ("lower right", "upper left")
    (centre,) = evenness.uneven([0.6, 0.6, 0.6, 0.6, 0.8])
    assert centre.side == "centre"
    assert any("close the lens" in line for line in evenness.uneven_lines([centre]))
    assert "even within" in evenness.uneven_lines(evenness.uneven([0.6] * 5))[0]


def test_density_is_told_in_stops_by_the_paper_s_range() -> None:
    """The whole scale of a paper of range 100 is one decade of light, 3.32 stops."""
    assert evenness.stops_of(0.9 * 2.0 - 0.04, 100.0) == pytest.approx(3.3219, abs=1e-3)
    assert evenness.stops_of(0.1, 160.0) > evenness.stops_of(0.1, 100.0)
    with pytest.raises(BadInput, match="ISO range"):
        evenness.stops_of(0.1, 3.0)
    with pytest.raises(BadInput, match="five for each sheet"):
        evenness.uneven([0.6, 0.6])


@pytest.mark.parametrize(
    ("word", "fields", "time_s", "said"),
    [
        ("leak", {}, None, "test flash finds it"),
        ("evenness", {}, None, "mid grey"),
        ("dark", {}, 60.0, "no one time"),
        ("leak", {"flash_s": -1.0}, None, "flash_s"),
    ],
)
def test_bad_input_of_a_trial(
    word: str, fields: dict[str, object], time_s: float | None, said: str
) -> None:
    """What is missing or out of range is said by its field or option."""
    with pytest.raises(BadInput, match=said):
        trial_of(word, fields, time_s)


def test_an_even_grey_exposes_two_sheets() -> None:
    """Two sheets, two exposures, each label its own."""
    labels = [one.label for one in plan_of("evenness").actions if isinstance(one, Expose)]
    assert labels == ["grey 1", "grey 2"]
