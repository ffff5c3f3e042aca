"""Batches: order, under-fixed prints, cold water, what is called, and ways as files."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pytest

from controller.errors import BadInput, Refused
from controller.trays.batch import (
    Batch,
    Owed,
    Sheet,
    calls,
    card,
    do,
    may_do,
    merged,
    step_named,
)
from controller.trays.happened import StepWet, sheet_wet
from controller.trays.residual import Residual, Seen, outcome_of
from controller.trays.way import (
    OWN,
    Way,
    Work,
    known_ways,
    read_way,
    same_way,
    shipped,
    way_named,
)

AT = datetime(2026, 5, 1, 20, 0, tzinfo=UTC)


def batch_of(way: str, *marks: str, done: int = 0, number: int = 1) -> Batch:
    """A batch that has been through so many steps."""
    steps = shipped()[way].step[:done]
    wet = tuple(StepWet(step.name, step.time_s, step.time_s, AT) for step in steps)
    return Batch(number, shipped()[way], tuple(Sheet(mark) for mark in marks), AT, wet)


@pytest.mark.parametrize("way", shipped().values(), ids=lambda way: way.name)
def test_a_shipped_way_says_where_its_figures_come_from_and_ends_in_a_wash(way: Way) -> None:
    """Every figure has a source class; no print goes to the line with fixer in it."""
    assert all(step.source for step in way.step)
    assert way.step[-1].work is Work.WASH


def test_nothing_is_toned_before_it_was_cleared_and_washed() -> None:
    """The toner is refused at every earlier step of the way, and taken at its own."""
    toner = step_named(shipped()["selenium"], "Selenium toner")
    for done in range(3):
        with pytest.raises(Refused, match=r"comes before selenium toner"):
            may_do(batch_of("selenium", "K7", done=done), toner)
    done, _ = do(batch_of("selenium", "K7", done=3), toner, AT, actual_s=240.0)
    assert (done.name, done.tray) == ("selenium toner", "selenium toner 1+9")


def test_one_under_fixed_print_keeps_the_batch_from_the_toner() -> None:
    """The refusal names the print and its remedy."""
    batch = batch_of("selenium", "K7", "K8", done=3)
    batch = msgspec.structs.replace(batch, sheets=(Sheet("K7"), Sheet("K8", under_fixed=True)))
    with pytest.raises(Refused, match=r"^K8 is under-fixed: fix again.*batch out 1 MARK"):
        may_do(batch, step_named(batch.way, "selenium toner"))


@pytest.mark.parametrize(
    ("celsius", "wanted_s"), [(10.0, 7200.0), (15.0, 5091.17), (20.0, 3600.0), (28.0, 3600.0)]
)
def test_a_cold_wash_takes_twice_as_long_ten_degrees_down(celsius: float, wanted_s: float) -> None:
    """TM 11-2323: twice at 50 F; warm water shortens nothing."""
    wash = step_named(shipped()["wash"], "wash")
    assert wash.at(wash.time_s, celsius) == pytest.approx(wanted_s)


def test_cold_does_not_change_the_time_of_toner_and_clearing_bath() -> None:
    """Only fixing and washing have a published law."""
    way = shipped()["selenium"]
    assert [s.at(100.0, 10.0) for s in way.step if s.work in (Work.TONE, Work.CLEAR)] == [100.0] * 3


def test_a_step_that_was_too_short_or_too_long_is_taken_and_told() -> None:
    """What happened is kept as it was, with a warning."""
    batch = batch_of("clear-and-wash", "K7", done=1)
    step = step_named(batch.way, "clearing bath")
    done, warnings = do(batch, step, AT, actual_s=60.0)
    assert (done.actual_s, len(warnings)) == (60.0, 1)
    assert "shorter than 2 min" in warnings[0]
    assert "longer than 10 min" in do(batch, step, AT, actual_s=900.0)[1][0]
    assert do(batch, step, AT, actual_s=300.0)[1] == []


def test_a_step_that_was_too_short_may_have_its_rest_and_no_other_step_again() -> None:
    """Both times are judged together; what lies further back is refused."""
    batch = batch_of("clear-and-wash", "K7", done=1)
    clearing = step_named(batch.way, "clearing bath")
    short, _ = do(batch, clearing, AT, actual_s=60.0)
    batch = msgspec.structs.replace(batch, done=(*batch.done, short))
    rest, warnings = do(batch, clearing, AT, actual_s=120.0)
    assert (rest.planned_s, rest.actual_s, warnings) == (240.0, 120.0, [])
    with pytest.raises(Refused, match=r"^rinse is done already; try wash\.$"):
        do(batch, step_named(batch.way, "rinse"), AT, actual_s=300.0)


def test_nothing_is_toned_while_clearing_or_washing_owes_some_of_its_time() -> None:
    """A clearing and a wash cut short keep prints from the toner, until each has had the rest."""
    batch = batch_of("selenium", "K7", done=1)
    for name in ("clearing bath", "wash"):
        step = step_named(batch.way, name)
        short, warnings = do(batch, step, AT, actual_s=60.0, anyway=True)
        assert warnings
        batch = msgspec.structs.replace(batch, done=(*batch.done, short))
    toner = step_named(batch.way, "selenium toner")
    with pytest.raises(Refused, match="clearing bath and wash had less than the least time"):
        do(batch, toner, AT, actual_s=240.0)
    for name in ("clearing bath", "wash"):
        step = step_named(batch.way, name)
        rest, warnings = do(batch, step, AT, actual_s=step.least_s - 60.0)
        assert warnings == []
        batch = msgspec.structs.replace(batch, done=(*batch.done, rest))
    do(batch, toner, AT, actual_s=240.0)


def test_a_last_wash_after_a_short_clearing_is_asked_about() -> None:
    """Refused with what it had and what it wants; gone on with anyway it is written, and said."""
    batch = batch_of("selenium", "K7", done=4)
    short, _ = do(batch, step_named(batch.way, "second clearing bath"), AT, actual_s=60.0)
    batch = msgspec.structs.replace(batch, done=(*batch.done, short))
    last = step_named(batch.way, "last wash")
    with pytest.raises(Owed, match="second clearing bath had 1 min of at least 2 min before last"):
        may_do(batch, last)
    done, warnings = do(batch, last, AT, actual_s=1200.0, anyway=True)
    assert warnings == ["second clearing bath before it had less than the least time"]
    assert done.note == warnings[0]
    batch = msgspec.structs.replace(batch, done=(*batch.done, done))
    rest, warnings = do(batch, batch.may_get_rest[0], AT, actual_s=240.0)
    assert (rest.name, warnings) == ("second clearing bath", [])


def test_the_rest_of_a_step_is_what_it_lacks_of_its_usual_time() -> None:
    """Four minutes of five, called as such; what was in full has none."""
    batch = batch_of("selenium", "K7", done=1)
    clearing = step_named(batch.way, "clearing bath")
    short, _ = do(batch, clearing, AT, actual_s=60.0)
    batch = msgspec.structs.replace(batch, done=(*batch.done, short))
    assert batch.may_get_rest == [clearing]
    assert "  x 2. clearing bath: 1 min, OF AT LEAST 2 min" in card(batch)
    assert batch.rest_s(clearing) == 240.0
    assert batch.rest_s(step_named(batch.way, "rinse")) == 0.0
    assert calls(clearing, had_s=60.0) == [
        (0.0, "clearing bath, the rest, 4 min"),
        (240.0, "clearing bath done, lift and drain"),
    ]


def test_every_shipped_step_says_how_prints_are_moved() -> None:
    """On the card too, below its time."""
    for way in shipped().values():
        assert all(step.agitation for step in way.step)
    card_lines = card(batch_of("selenium", "K7"))
    assert any("none lying still on another" in line for line in card_lines)


def test_ways_of_one_s_own_lie_beside_the_rig_file(tmp_path: Path) -> None:
    """Known by name; one of a shipped name takes its place; a bad file is named."""
    (tmp_path / OWN).mkdir()
    (tmp_path / OWN / "mine.toml").write_text(HEAD + STEP)
    (tmp_path / OWN / "wash.toml").write_text(HEAD.replace("mine", "wash") + STEP)
    known = known_ways(tmp_path)
    assert known["mine"].about == known["wash"].about == "a try"
    assert "selenium" in known
    (tmp_path / OWN / "bad.toml").write_text(HEAD)
    with pytest.raises(BadInput, match=r"bad.toml"):
        known_ways(tmp_path)


def test_how_prints_are_moved_keeps_no_batches_apart() -> None:
    """A batch from before it was told is merged with one of today; another time is another way."""
    today = shipped()["wash"]
    quiet = tuple(step.model_copy(update={"agitation": ""}) for step in today.step)
    assert same_way(today, today.model_copy(update={"step": quiet}))
    longer = tuple(step.model_copy(update={"time_s": 900.0}) for step in today.step)
    assert not same_way(today, today.model_copy(update={"step": longer}))


def test_an_empty_batch_goes_nowhere() -> None:
    """There is nothing that the step could be written for."""
    with pytest.raises(Refused, match="batch 1 has no prints left"):
        may_do(batch_of("wash"), step_named(shipped()["wash"], "rinse"))


def test_only_batches_that_are_equally_far_on_one_way_are_merged() -> None:
    """Their prints are then one batch, each once."""
    first = batch_of("wash", "K7", "K8", done=1)
    with pytest.raises(Refused, match="batch 2 through rinse first"):
        merged(first, batch_of("wash", "K9", number=2))
    with pytest.raises(Refused, match="goes through"):
        merged(first, batch_of("selenium", "K9", done=1, number=2))
    with pytest.raises(Refused, match="itself"):
        merged(first, first)
    sheets = merged(first, batch_of("wash", "K8", "K9", done=1, number=2))
    assert [sheet.mark for sheet in sheets] == ["K7", "K8", "K9"]


def test_changes_of_water_are_called_evenly_and_the_end_last() -> None:
    """Six fills are five changes, each as long as the others."""
    called = calls(step_named(shipped()["changes"], "wash"))
    assert [at for at, text in called if text.startswith("change")] == [
        300.0 * n for n in range(1, 6)
    ]
    assert called[0][0] == 0.0
    assert called[-1] == (1800.0, "wash done, lift and drain")


def test_the_card_has_every_print_every_step_and_every_caution() -> None:
    """What is done is ticked, what is left has its time."""
    batch = batch_of("selenium", "K7", "K8", done=1)
    text = "\n".join(card(batch))
    assert "K7 K8" in text
    assert "x 1. rinse" in text
    assert "_ 4. selenium toner 1+9: 4 min" in text
    assert all(caution in text for caution in batch.way.caution)


@pytest.mark.parametrize(
    ("fixers", "under"),
    [
        (((120.0, 120.0),), False),
        (((120.0, 116.0),), False),
        (((120.0, 90.0),), True),
        (((60.0, 40.0), (60.0, 80.0)), False),  # two baths count together
        (((60.0, 40.0), (60.0, 60.0)), True),
        ((), False),
    ],
)
def test_a_sheet_is_under_fixed_when_its_fixers_together_fell_short(
    fixers: tuple[tuple[float, float], ...], under: bool
) -> None:
    """And then the remedy is among its warnings."""
    steps = [StepWet(f"fixer {n}", plan, took, AT) for n, (plan, took) in enumerate(fixers)]
    wet = sheet_wet("K7", "", "fibre", [StepWet("stop", 30.0, 1.0, AT), *steps])
    assert wet.under_fixed is under
    assert any("fix again" in text for text in wet.warnings) is under


def test_any_stain_of_silver_fails_and_a_faint_one_of_fixer_passes() -> None:
    """Silver that is left ruins a toned print; a trace of fixer is what charts allow."""
    assert [outcome_of(Residual.SILVER, seen).passed for seen in Seen] == [True, False, False]
    assert [outcome_of(Residual.HYPO, seen).passed for seen in Seen] == [True, True, False]


STEP = '[[step]]\nname = "wash"\nwork = "wash"\ntime_s = 600\nsource = "sheet"\n'
HEAD = 'version = 1\nname = "mine"\nabout = "a try"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD, r"f.toml, step: it is missing"),
        (HEAD + STEP + STEP, r'two steps are called "wash"; right would be a name for each'),
        (HEAD + STEP + "least_s = 700", r"least_s is above time_s; right would be at most 600"),
        (HEAD + STEP + "most_s = 10", r"most_s is below time_s; right would be at least 600"),
        (HEAD + STEP + "tray = 3", r"step\[1\].tray: there is no such key here"),
        (HEAD + STEP.replace("600", "inf"), r"step\[1\].time_s: inf is not right"),
        (HEAD.replace("1", "2") + STEP, r"version: 2 is not right; right would be 1"),
        ("version = ", r"this is not TOML"),
    ],
)
def test_a_bad_way_is_refused_in_one_sentence(text: str, said: str) -> None:
    """File, field, what is wrong, what would be right."""
    with pytest.raises(BadInput, match=said) as caught:
        read_way(text, "f.toml")
    assert str(caught.value).count("\n") == 0


def test_an_unknown_way_names_those_that_there_are() -> None:
    """A slip of the pen is answered with the list."""
    with pytest.raises(BadInput, match="clear-and-wash"):
        way_named("selenum")
