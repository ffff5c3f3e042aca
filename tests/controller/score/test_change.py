"""Changing a score as somebody types it, and what is said of what is typed wrong."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.score.amount import parse_amount, seconds, stops
from controller.score.change import (
    RIGHT_BURN,
    RIGHT_DODGE,
    RIGHT_DROP,
    RIGHT_PASS,
    RIGHT_SET,
    with_burn,
    with_dodge,
    with_pass,
    with_settings,
    with_sketch,
    without,
)
from controller.score.file import score_of, to_toml
from controller.score.model import Flash, Pass, Score
from controller.score.new import demonstration, new_score
from tests.controller.score.scores import split
from tests.controller.score.test_doses import burn, changed, dodge

FILE = "print.toml"


def full() -> Score:
    return changed(
        split(),
        flash=Flash(dose_s=2),
        burns=(burn("sky", "+1", "soft"), burn("door+house", "3s", "hard")),
        dodges=(dodge("door", "1/2", "hard"),),
        came_from=("K1 B",),
    )


# --- settings ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setting", "reads"),
    [
        ("base_s=14", lambda s: s.base_s == 14),
        (" base_s = 14 ", lambda s: s.base_s == 14),
        ("title=Low tide", lambda s: s.title == "Low tide"),
        ('title="Low tide = wet"', lambda s: s.title == "Low tide = wet"),
        ("title=", lambda s: s.title == ""),
        ("paper.name=pearl", lambda s: s.paper.name == "pearl"),
        ("paper.batch=007", lambda s: s.paper.batch == "007"),
        ("paper.batch=2026-01-31", lambda s: s.paper.batch == "2026-01-31"),
        ("paper.batch=true", lambda s: s.paper.batch == "true"),
        ("process.time=00:02:30", lambda s: s.process.time == "00:02:30"),
        ("remarks=[ferric, a little]", lambda s: s.remarks == "[ferric, a little]"),
        ("setup.magnification=3.5", lambda s: s.setup.magnification == 3.5),
        ("setup.aperture=5.6", lambda s: s.setup.aperture == "5.6"),
        ("passes.hard.dose=-1/3", lambda s: s.passes[1].dose == stops(-1 / 3)),
        ("passes.hard.dose=8s", lambda s: s.passes[1].dose == seconds(8)),
        ("passes.hard.filter=4", lambda s: s.passes[1].filter == "4"),
        ("passes.hard.filter=", lambda s: s.passes[1].filter == ""),
        ("burns.sky.amount=+2", lambda s: s.burns[0].amount == stops(2)),
        ("burns.door and house.note=edges", lambda s: s.burns[1].note == "edges"),
        ("burns.door+house.note=edges", lambda s: s.burns[1].note == "edges"),
        ("dodges.door.begin=end", lambda s: s.dodges[0].begin == "end"),
        ("flash.dose_s=3", lambda s: s.flash.dose_s == 3),
        ("flash=", lambda s: s.flash is None),
        ("regions.S=heaven", lambda s: False),
        ('sketch=["SSD", "HWW"]', lambda s: s.sketch == ("SSD", "HWW")),
        ('passes=[{label="soft"}, {label="hard"}]', lambda s: s.passes[1].dose == stops(0)),
    ],
)
def test_a_field_is_set_by_its_path(setting: str, reads: Callable[[Score], bool]) -> None:
    """Tables by dots, passes by label, burns and dodges by their places."""
    if setting.startswith("regions"):
        # the burn of the sky would have lost its region
        with pytest.raises(BadInput, match="a burn is of 'sky', which the sketch does not have"):
            with_settings(full(), [setting], FILE)
        return
    assert reads(with_settings(full(), [setting], FILE))


def test_settings_come_one_after_another() -> None:
    """The later one wins, and together they may do what none may alone."""
    assert with_settings(split(), ["base_s=3", "base_s=4"], FILE).base_s == 4
    both = with_settings(split(), ["regions.T=tower", 'sketch=["SSD", "HWT"]'], FILE)
    assert both.regions["T"] == "tower"
    assert with_settings(split(), [], FILE) == split()


@pytest.mark.parametrize(
    ("setting", "said"),
    [
        ("base_s", f"--set: 'base_s' sets nothing; right would be {RIGHT_SET}"),
        ("=3", f"--set: '=3' sets nothing; right would be {RIGHT_SET}"),
        ("base_s=", f"{FILE}, base_s: it is missing; right would be base_s = base exposure"),
        ("base_s=soon", f'{FILE}, base_s: "soon" is not right; right would be a number above 0'),
        ("bas_s=3", f'{FILE}, bas_s: there is no such key here; right would be "base_s"'),
        ("paper.batsch=3", f'{FILE}, paper.batsch: there is no such key here; right would be "ba'),
        ("base_s.x=3", "'base_s' has no fields"),
        ("passes.third.dose=+1", "there is nothing called 'third'"),
        ("passes.hard=+1", "a whole entry cannot be set at once"),
        ("passes.hard.dose=8", "passes[2].dose: '8' does not say of what; right would be +8 for"),
        ("sketch.0.x=3", "there is nothing called '0'"),
        ("came_from.0.x=3", "there is nothing called '0'"),
        ("burns.tower.amount=+1", "there is nothing called 'tower'"),
        ("burns.sky.amount=-1", "a burn of -1 adds nothing"),
        ("dodges.door.within=third", "a dodge is within 'third'; right would be one of soft, hard"),
        ("flash.dose_s=0", f"{FILE}, flash.dose_s: 0 is not right"),
        ("version=2", "'2' is no version"),
        ("..=3", "there is no such key here"),
        ("base_s=" + "9" * 5000, f"{FILE}, base_s"),
    ],
)
def test_a_setting_that_is_wrong_is_told(setting: str, said: str) -> None:
    """What is wrong, where, and what would be right."""
    with pytest.raises(BadInput) as refused:
        with_settings(full(), [setting], FILE)
    assert said in str(refused.value).replace('"0" is', "0 is")


# --- passes -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("third:2:+1/3", Pass(label="third", filter="2", dose=stops(1 / 3))),
        ("third::8s", Pass(label="third", dose=seconds(8))),
        ("third:none:", Pass(label="third")),
        (" third : 3 1/2 : -1 ", Pass(label="third", filter="3 1/2", dose=stops(-1))),
    ],
)
def test_a_pass_is_added_at_the_end(text: str, made: Pass) -> None:
    """Label, filter and dose, of which the last two may be left out."""
    assert with_pass(split(), text, FILE).passes == (*split().passes, made)
    assert new_score(8, [text], {}, FILE).passes == (made,)


@pytest.mark.parametrize(
    ("text", "filter_", "dose"),
    [
        ("hard:4:-1/2", "4", "-1/2"),
        ("hard::-1/2", "5", "-1/2"),
        ("hard:4:", "4", "-1"),
        ("hard:none:", "", "-1"),
        ("hard:none:8s", "", "8s"),
        ("hard::", "5", "-1"),
    ],
)
def test_a_pass_that_is_there_is_changed(text: str, filter_: str, dose: str) -> None:
    """What is left empty stays, none takes the filter away, and notes and order are kept."""
    score = with_settings(full(), ["passes.hard.note=for the door"], FILE)
    soft, hard = with_pass(score, text, FILE).passes
    assert soft == score.passes[0]
    assert hard == Pass(label="hard", filter=filter_, dose=parse_amount(dose), note="for the door")


@pytest.mark.parametrize("text", ["", "hard", "hard:5", ":5:+1", "hard:5:+1:x", "hard=5"])
def test_what_is_no_pass_is_refused(text: str) -> None:
    """The form is told."""
    with pytest.raises(BadInput) as refused:
        with_pass(split(), text, FILE)
    assert str(refused.value) == f"--pass: {text!r} is not a pass; right would be {RIGHT_PASS}."


def test_a_bare_dose_of_a_pass_is_refused() -> None:
    """As everywhere: stops or seconds has to be said."""
    with pytest.raises(BadInput, match=r"passes\[3\].dose: '8' does not say of what"):
        with_pass(split(), "third:5:8", FILE)


# --- burns and dodges ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("sky=+1", burn("sky", "+1")),
        ("water=+1@soft", burn("water", "+1", "soft")),
        ("water=4s:00@soft", burn("water", "4s", "soft", "00")),
        ("water=4s:2@all", burn("water", "4s", "all", "2")),
        ("water + sky = 1/2 @ hard", burn("water+sky", "1/2", "hard")),
        ("water and elsewhere=1/2@hard", burn("water+elsewhere", "1/2", "hard")),
    ],
)
def test_a_burn_is_added_at_the_end(text: str, made: object) -> None:
    """Places, amount, filter and pass."""
    assert with_burn(full(), text, FILE).burns == (*full().burns, made)


def test_a_burn_of_the_same_place_and_pass_is_changed_where_it_stands() -> None:
    """Its note is kept; its filter is as typed."""
    score = with_settings(full(), ["burns.sky.note=feather it"], FILE)
    made = with_burn(score, "sky=1/2:5@soft", FILE)
    new = burn("sky", "1/2", "soft", "5").model_copy(update={"note": "feather it"})
    assert made.burns == (new, full().burns[1])


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("sky=1/3@soft", dodge("sky", "1/3", "soft")),
        ("sky=2s:end@soft", dodge("sky", "2s", "soft", "end")),
        ("sky+water=2s:3.5s@hard", dodge("sky+water", "2s", "hard", "3.5s")),
    ],
)
def test_a_dodge_is_added_at_the_end(text: str, made: object) -> None:
    """Places, amount, beginning and pass."""
    assert with_dodge(full(), text, FILE).dodges == (*full().dodges, made)


def test_a_dodge_of_the_same_place_and_pass_is_changed() -> None:
    """And one in another pass is another."""
    assert with_dodge(full(), "door=1s:end@hard", FILE).dodges == (
        dodge("door", "1s", "hard", "end"),
    )
    assert len(with_dodge(full(), "door=1s@soft", FILE).dodges) == 2


def test_a_dodge_in_the_only_pass_need_not_name_it() -> None:
    """With two passes it must be said which."""
    only = changed(split(), passes=split().passes[:1])
    assert with_dodge(only, "sky=1/3", FILE).dodges == (dodge("sky", "1/3", "soft"),)
    with pytest.raises(BadInput, match="'sky=1/3' does not say in which pass"):
        with_dodge(split(), "sky=1/3", FILE)


@pytest.mark.parametrize("text", ["", "sky", "sky=", "=+1@soft", "sky=@soft", "sky=+1@", "sky:+1"])
def test_what_is_no_handwork_is_refused(text: str) -> None:
    """The form is told, of a burn and of a dodge."""
    with pytest.raises(BadInput) as refused:
        with_burn(split(), text, FILE)
    said = f"{text!r} is not understood; right would be"
    assert str(refused.value) == f"--burn: {said} {RIGHT_BURN}."
    with pytest.raises(BadInput) as refused:
        with_dodge(split(), text, FILE)
    assert str(refused.value) == f"--dodge: {said} {RIGHT_DODGE}."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("sky=1@soft", "burns[1].amount: '1' does not say of what"),
        ("sky=lots@soft", "burns[1].amount: 'lots' is no amount of exposure"),
        ("tower=+1@soft", "a burn is of 'tower', which the sketch does not have"),
        ("sky=+1@third", "a burn is over 'third'; right would be one of all, soft, hard"),
        ("sky=4s", "a burn in seconds is over all passes"),
        ("sky=+1:2", "a burn in stops over all passes has a filter"),
        ("+=+1@soft", "burns[1].regions: a list is not right; right would be names of regions"),
        ("sky+sky=+1@soft", "a burn names a region twice"),
    ],
)
def test_a_burn_that_cannot_be_is_told(text: str, said: str) -> None:
    """The sentences of the model, with file and field."""
    with pytest.raises(BadInput) as refused:
        with_burn(split(), text, FILE)
    assert said in str(refused.value)
    assert refused.value.where.startswith(FILE)


# --- taking out, and sketches -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("texts", "left"),
    [
        (["flash"], lambda s: s.flash is None),
        (["burn:sky"], lambda s: s.burns == full().burns[1:]),
        (["burn:door and house"], lambda s: s.burns == full().burns[:1]),
        (["burn:door+house"], lambda s: s.burns == full().burns[:1]),
        (["dodge: door"], lambda s: s.dodges == ()),
        (["burn:sky", "pass:soft"], lambda s: [p.label for p in s.passes] == ["hard"]),
    ],
)
def test_things_are_taken_out(texts: list[str], left: Callable[[Score], bool]) -> None:
    """By what they are, and what they are called."""
    score = full()
    for text in texts:
        score = without(score, text, FILE)
    assert left(score)


@pytest.mark.parametrize(
    "text", ["", "pass", "pass:third", "burn:door", "dodge:sky", "paper", "flesh", "base_s:12"]
)
def test_what_is_not_there_cannot_be_taken_out(text: str) -> None:
    """The forms are told."""
    with pytest.raises(BadInput) as refused:
        without(full(), text, FILE)
    assert str(refused.value) == (
        f"--drop: there is no {text!r} in the score; right would be {RIGHT_DROP}."
    )


def test_a_flash_that_is_not_there_cannot_be_taken_out() -> None:
    """Nothing is done in silence."""
    with pytest.raises(BadInput, match="there is no 'flash' in the score"):
        without(split(), "flash", FILE)


def test_a_pass_that_handwork_is_in_stays() -> None:
    """And so does the only one."""
    with pytest.raises(BadInput, match="a burn is over 'soft'; right would be one of all, hard"):
        without(full(), "pass:soft", FILE)
    one = without(split(), "pass:soft", FILE)
    with pytest.raises(BadInput, match=r"passes: .* one table \[\[passes\]\] or more"):
        without(one, "pass:hard", FILE)


def test_a_sketch_is_taken_over_with_its_names() -> None:
    """Where it has the places that the score needs."""
    bare = new_score(8, [], {}, FILE)
    made = with_sketch(bare, demonstration(), FILE)
    assert (made.sketch, made.regions) == (demonstration().sketch, demonstration().regions)
    with pytest.raises(BadInput, match="'sky', which the sketch does not have"):
        with_sketch(full(), bare, FILE)


# --- anything at all ----------------------------------------------------------------------------

typed = st.one_of(
    st.text(max_size=30),
    st.lists(
        st.sampled_from(
            [
                *"=:@+.-/,%s1234567890 S[{",
                *("sky", "door", "soft", "hard", "passes", "burns", "dodges", "base_s", "dose"),
                *("amount", "regions", "sketch", "flash", "none", "all", "\n"),
            ]
        ),
        max_size=9,
    ).map("".join),
)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from([with_pass, with_burn, with_dodge, without, with_settings]), typed)
def test_whatever_is_typed_makes_a_score_or_a_sentence(
    change: Callable[[Score, object, str], Score], text: str
) -> None:
    """No text leads to another fault than BadInput, nor to a score that cannot be kept."""
    try:
        made = change(full(), [text] if change is with_settings else text, FILE)
    except BadInput as refused:
        sentence = str(refused)
    else:
        sentence = ""
        assert score_of(to_toml(made), FILE) == made
    assert "\n" not in sentence
