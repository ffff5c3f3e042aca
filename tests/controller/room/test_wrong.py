"""From a symptom to the test that settles it."""

from __future__ import annotations

import pytest

from controller.errors import BadInput
from controller.room import wrong
from controller.room.wrong import CAUSES, TESTS, Settles, Symptom


@pytest.mark.parametrize("symptom", Symptom)
def test_every_symptom_leads_through_all_its_causes(symptom: Symptom) -> None:
    """Ruling out one cause after another ends, and meets each that is listed."""
    done: list[Settles] = []
    while (cause := wrong.next_cause(symptom, done)) is not None:
        assert cause.settles not in done
        test = wrong.settling_test(cause)
        assert set(test.first) <= set(done)
        done.append(cause.settles)
    assert {one.settles for one in CAUSES[symptom]} <= set(done)


@pytest.mark.parametrize("symptom", [s for s in Symptom if CAUSES[s][-1].name.startswith("neg")])
def test_alignment_comes_last(symptom: Symptom) -> None:
    """Where alignment could be it, the safelights come first and alignment last."""
    assert CAUSES[symptom][0].settles is Settles.FOG
    assert CAUSES[symptom][-1].settles is Settles.ALIGNMENT


def test_who_would_realign_is_sent_to_the_safelights() -> None:
    """Alignment waits for fog, leak and evenness, in that order; then it may be done."""
    done: list[Settles] = []
    while (test := wrong.before(Settles.ALIGNMENT, done)) is not None:
        done.append(test.settles)
    assert done == [Settles.FOG, Settles.LEAK, Settles.EVENNESS]
    assert wrong.before(Settles.FOG) is None
    told = wrong.before(Settles.EVENNESS)
    assert told is not None
    assert told.settles is Settles.FOG


def test_every_claim_has_a_source_and_every_danger_a_caution() -> None:
    """Each cause says where it is from; dark, toner, sulfide and column carry their cautions."""
    assert set(TESTS) == set(Settles)
    for causes in CAUSES.values():
        for cause in causes:
            assert any(w in cause.source for w in ("no source", "from memory", "K-4"))
    for settles, test in TESTS.items():
        if "total darkness" in test.how or "all other lights out" in test.how:
            assert any("trip" in one for one in test.cautions), settles
        if "toner" in test.how:
            assert any("poison" in one for one in test.cautions), settles
        if "sulfide" in test.how:
            assert any("hydrogen sulfide" in one for one in test.cautions), settles
    assert any("cool" in one for one in TESTS[Settles.ALIGNMENT].cautions)


@pytest.mark.parametrize(
    ("text", "symptom"),
    [
        ("pale", Symptom.PALE_LINE),
        ("grey whites", Symptom.GREY_WHITES),
        ("dark-corner", Symptom.DARK_CORNER),
        ("Stained", Symptom.STAINED_CORNERS),
        ("selenium", Symptom.SELENIUM_STAIN),
        ("uneven", Symptom.UNEVEN),
    ],
)
def test_symptoms_as_typed(text: str, symptom: Symptom) -> None:
    """A word that means only one symptom is enough."""
    assert wrong.symptom_of(text) is symptom


@pytest.mark.parametrize("text", ["", "corner", "stain", "purple"])
def test_symptoms_that_are_not_told(text: str) -> None:
    """Nothing, two meanings or an unknown word are asked back, with the choice."""
    with pytest.raises(BadInput, match="right would be one of"):
        wrong.symptom_of(text)


def test_lines_tell_what_is_left() -> None:
    """The text holds cause, test, cure and caution; what was ruled out is gone."""
    text = "\n".join(wrong.lines(Symptom.PALE_LINE))
    assert text.index("safelight fog") < text.index("alignment of negative")
    assert "caution: " in text
    left = "\n".join(wrong.lines(Symptom.PALE_LINE, [Settles.FOG]))
    assert "1. light that leaks" in left
    assert "repeat the fog test" in wrong.lines(Symptom.GREY_WHITES, Settles)[-1]
