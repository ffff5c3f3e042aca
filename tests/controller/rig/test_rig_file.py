"""Reading rig.toml: every fault by file, field, value and remedy; settings by ``--set``."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from controller.errors import BadInput
from controller.rig.file import (
    example_rig,
    find_faults,
    imagined_rig,
    load_rig,
    with_settings,
)
from controller.rig.settings import value_of
from controller.written import bad_input, parse

LAMP = '[lamp]\ndriver = "gpio"\naddress = 17\n'
LIGHTS = (
    '[[safelight]]\nname = "ceiling"\naddress = 22\ncontact = "normally-closed"\n'
    'nominated = true\n[[safelight]]\nname = "side"\naddress = 23\n'
)


def faults(text: str) -> list[str]:
    return [str(fault) for fault in find_faults(parse(text, "rig.toml"), "rig.toml")]


ONE_FAULT = [
    # a table, a key or a value that the model refuses
    ("", "rig.toml, lamp: it is missing; right would be a table [lamp] with address and driver."),
    (
        LAMP + "[fot]\n",
        'rig.toml, fot: there is no such key here; right would be "foot".',
    ),
    (
        LAMP + 'contakt = "normally-open"\n',
        'rig.toml, lamp.contakt: there is no such key here; right would be "contact".',
    ),
    (
        LAMP + LIGHTS + 'contact = "open"\n',
        'rig.toml, safelight[2].contact: "open" is not right; right would be "normally-open" or '
        '"normally-closed".',
    ),
    (
        LAMP + 'rest_s = "1"\n',
        'rig.toml, lamp.rest_s: "1" is not right; right would be a number from 0 up to 600.',
    ),
    (
        LAMP + "warm_up_s = -1\n",
        "rig.toml, lamp.warm_up_s: -1 is not right; right would be a number from 0 up to 1800.",
    ),
    (
        LAMP + "cold_lag_s = nan\n",
        "rig.toml, lamp.cold_lag_s: nan is not right; right would be a number from -0.1 up to 2.",
    ),
    (
        LAMP + "[paper]\nstrips_per_sheet = 2.5\n",
        "rig.toml, paper.strips_per_sheet: 2.5 is not right; right would be a whole number from 1 "
        "up to 100.",
    ),
    (
        LAMP + "[sounder]\nspeech = 1\n",
        "rig.toml, sounder.speech: 1 is not right; right would be true or false.",
    ),
    ("lamp = 3\n", "rig.toml, lamp: 3 is not right; right would be a table [lamp], in single"),
    (
        '[[lamp]]\ndriver = "gpio"\naddress = 17\n',
        "rig.toml, lamp: a list is not right; right would be a table [lamp], in single brackets.",
    ),
    (
        LAMP + '[pedal]\ndriver = "gpio"\naddress = 5\n',
        "rig.toml, pedal: a table is not right; right would be [[pedal]], in double brackets",
    ),
    (
        '[lamp]\ndriver = "gpio"\npin = -4\n',
        "rig.toml, lamp.pin: -4 is not right; right would be a GPIO number such as 17",
    ),
    (
        '[lamp]\ndriver = "gpio"\npin = true\n',
        "rig.toml, lamp.pin: true is not right; right would be a GPIO number such as 17",
    ),
    (
        LAMP + "pin = 18\n",
        "rig.toml, lamp.pin: the same is given as address; right would be either of the two.",
    ),
    (
        LAMP + '[[light]]\nname = "big one"\nkind = "room"\naddress = 5\n',
        'rig.toml, light[1].name: "big one" is not right; right would be one word',
    ),
    (LAMP + '[board]\ngpio = "lgpio"\n', 'rig.toml, board.gpio: "lgpio" is not right; right would'),
    # what only the whole rig shows
    (
        LAMP + 'contact = "normally-closed"\n',
        "rig.toml, lamp.contact: the lamp would burn whenever the relay is not energised",
    ),
    (
        LAMP + "least_pulse_s = 5\nlongest_on_s = 4\n",
        "rig.toml, lamp.longest_on_s: 4 s leaves no room above least_pulse_s = 5",
    ),
    (
        LAMP + '[[safelight]]\nname = "side"\naddress = 23\n',
        "rig.toml, safelight: none is nominated",
    ),
    (
        LAMP + LIGHTS + 'nominated = true\ncontact = "normally-closed"\n',
        "rig.toml, safelight[2].nominated: safelight[1] is nominated already",
    ),
    (
        LAMP + LIGHTS + 'contact = "normally-closed"\n',
        "rig.toml, safelight[2].contact: only the nominated safelight may burn when all fails",
    ),
    (
        LAMP + '[[safelight]]\nname = "side"\naddress = 23\nnominated = true\n',
        "rig.toml, safelight[1].contact: the nominated safelight would go dark when all fails",
    ),
    (
        LAMP + LIGHTS.replace("nominated = true", 'nominated = true\nat_stop = "off"'),
        "rig.toml, safelight[1].at_stop: nobody energises",
    ),
    (
        LAMP + LIGHTS + '[[safelight]]\nname = "third"\n',
        "rig.toml, safelight[3].address: it is missing, and the safelight is to be switched",
    ),
    (
        LAMP + '[[light]]\nname = "x"\nkind = "room"\naddress = 5\ncontact = "normally-closed"\n',
        "rig.toml, light[1].contact: this light would fog the paper when all fails",
    ),
    (
        LAMP + '[[light]]\nname = "x"\nkind = "contact-frame"\naddress = 5\nat_start = "on"\n',
        "rig.toml, light[1].at_start: a contact frame is lit by exposures only",
    ),
    (
        LAMP + LIGHTS + '[[light]]\nname = "side"\nkind = "room"\naddress = 5\n',
        "rig.toml, light[1].name: 'side' is the name of safelight[2] already",
    ),
    (
        LAMP + '[[light]]\nname = "lamp"\nkind = "room"\naddress = 5\n',
        "rig.toml, light[1].name: 'lamp' is the enlarger's own output",
    ),
    (
        LAMP + LIGHTS.replace("23", '"GPIO17"'),
        "rig.toml, safelight[2].address: 'GPIO17' of 'gpio' is used by lamp already",
    ),
    (
        LAMP + '[[pedal]]\ndriver = "gpio"\npin = 17\n',
        "rig.toml, pedal[1].pin: 17 of 'gpio' is used by lamp already",
    ),
    (
        LAMP + '[sounder]\ndriver = "piezo"\naddress = 17\n',
        "rig.toml, sounder.address: 17 of 'gpio' is used by lamp already",
    ),
    (
        LAMP + '[sounder]\ndriver = "buzzer"\n',
        "rig.toml, sounder.address: it is missing, and a buzzer hangs on a line",
    ),
    (
        LAMP + "[foot]\nstuck_s = 1\n",
        "rig.toml, foot.stuck_s: 1 s is not longer than a long press of 1.5 s",
    ),
    (
        LAMP + '[talk]\nfolder = "book"\n',
        'rig.toml, talk.folder: "book" is not right; right would '
        'be a whole path, from "/" or "~", such as "~/book".',
    ),
    (
        LAMP + "[talk]\nvolume = 0.5\n",
        "rig.toml, talk.folder: it is missing; right would be "
        "folder = a folder of audio files (wav, mp3, flac, ogg) by its whole path",
    ),
    (
        LAMP + '[talk]\nfolder = "/b"\nvolume = 2\n',
        "rig.toml, talk.volume: 2 is not right; right would be a number from 0 up to 1.",
    ),
    (
        LAMP + '[talk]\nfolder = "/b"\nunder_prompts = -1\n',
        "rig.toml, talk.under_prompts: -1 is not right; right would be a number from 0 up to 1.",
    ),
    (
        LAMP + '[talk]\nfolder = "/b"\nstarts = "never"\n',
        'rig.toml, talk.starts: "never" is not right; right would be "by-itself" or "when-asked".',
    ),
    (
        LAMP + '[talk]\nfoldr = "/b"\nfolder = "/b"\n',
        'rig.toml, talk.foldr: there is no such key here; right would be "folder".',
    ),
    (LAMP + "talk = 3\n", "rig.toml, lamp.talk: there is no such key"),
    (
        LAMP + '[[talk]]\nfolder = "/b"\n',
        "rig.toml, talk: a list is not right; right would be a table [talk], in single brackets.",
    ),
]


@pytest.mark.parametrize(("text", "said"), ONE_FAULT)
def test_a_fault_is_told_once_in_one_sentence(text: str, said: str) -> None:
    """One thing wrong gives exactly one fault, with file, field, value and remedy."""
    told = faults(text)
    assert len(told) == 1, told
    assert told[0].startswith(said)
    assert told[0].endswith(".")
    assert "\n" not in told[0]


def test_all_faults_are_found_at_once() -> None:
    """Wrong values do not hide lights that would fail the wrong way, nor lines used twice."""
    told = faults(
        LAMP
        + 'rest_s = -1\ncontact = "normally-closed"\ncolour = "red"\n'
        + LIGHTS.replace("23", "22")
        + "[foot]\ndeaf_s = true\n"
    )
    fields = sorted(sentence.split(":")[0].removeprefix("rig.toml, ") for sentence in told)
    assert fields == [
        "foot.deaf_s",
        "lamp.colour",
        "lamp.contact",
        "lamp.rest_s",
        "safelight[2].address",
    ]


def test_the_same_number_on_two_boards_is_no_collision() -> None:
    """A line is shared only where driver and address are both the same."""
    assert faults(LAMP + '[[pedal]]\ndriver = "other"\naddress = 17\n') == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[lamp]\ndriver = gpio\n", "rig.toml, line 2, column 10: this is not TOML"),
        ("[lamp", "rig.toml, at its end: this is not TOML"),
        ("name = 'a'\nname = 'b'\n", "rig.toml, line 2, column 11: this is not TOML"),
        ("x = " + "[" * 5000, "rig.toml: it is nested far too deeply"),
    ],
)
def test_bad_toml_is_told_with_its_place(text: str, said: str) -> None:
    """Text that is no TOML is refused with line and column."""
    with pytest.raises(BadInput) as caught:
        parse(text, "rig.toml")
    assert str(caught.value).startswith(said)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    """A missing file, a folder and bytes that are no text each get their sentence."""
    (tmp_path / "bytes.toml").write_bytes(b'name = "\xff"')
    for path, said in [
        (tmp_path / "none.toml", "there is no such file"),
        (tmp_path, "this is a folder"),
        (tmp_path / "bytes.toml", "byte 9 is not UTF-8 text"),
        (tmp_path / "nul\0", "it cannot be read"),
    ]:
        with pytest.raises(BadInput) as caught:
            load_rig(path)
        assert str(caught.value).startswith(f"{path}: {said}")


def test_a_name_almost_that_of_an_imagined_rig() -> None:
    """Misspelling an imagined rig offers the right name."""
    with pytest.raises(BadInput, match='imagined rig: "tungsten"'):
        load_rig("tungstn")


def test_files_as_editors_on_other_systems_leave_them(tmp_path: Path) -> None:
    """A byte-order mark and carriage returns do no harm."""
    path = tmp_path / "rig.toml"
    path.write_bytes(b"\xef\xbb\xbf" + example_rig().replace("\n", "\r\n").encode())
    assert load_rig(str(path)).name == "darkroom"


@given(st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(
        st.sampled_from(
            ["lamp", "safelight", "light", "pedal", "sounder", "foot", "board", "simulator",
             "name", "address", "pin", "contact", "driver", "nominated", "active", "stuck_s"]
        ),
        inner,
        max_size=4,
    ),
    max_leaves=12,
))  # fmt: skip
def test_whatever_the_tables_hold_faults_are_found_or_the_rig_loads(value: object) -> None:
    """No shape of the tables breaks the explaining: what has no fault loads."""
    raw = value if isinstance(value, dict) else {"lamp": value}
    raw = {key: each for key, each in raw.items() if each is not None}
    if not find_faults(raw, "rig.toml"):
        from controller.rig.model import Rig

        assert Rig.model_validate(raw).lines()


# --- settings -------------------------------------------------------------------------------


def test_settings_override_by_path_name_and_number() -> None:
    """A setting is found by dots, and a light by its name or its number from 1."""
    rig = load_rig(
        "tungsten",
        [
            "lamp.cold_lag_s=0.25",
            "safelight.ceiling.warm_up_s=3",
            "safelight[1].afterglow_s = 1.5",
            "foot.deaf_s=0.5",
            "simulator.lamp=led",
            "board.sim.wire=edges.txt",
            'name="second try"',
        ],
    )
    assert rig.lamp.cold_lag_s == 0.25
    assert (rig.safelight[0].warm_up_s, rig.safelight[0].afterglow_s) == (3, 1.5)
    assert rig.foot.deaf_s == 0.5
    assert rig.simulator["lamp"] == "led"
    assert rig.driver_options() == {"wire": "edges.txt"}
    assert rig.name == "second try"


def test_a_later_setting_wins_and_the_rig_itself_is_untouched() -> None:
    """Settings apply in order, to a copy."""
    rig = imagined_rig("led")
    assert with_settings(rig, ["lamp.rest_s=1", "lamp.rest_s=2"]).lamp.rest_s == 2
    assert rig.lamp.rest_s == 0


def test_pin_may_be_set_where_the_file_says_address() -> None:
    """``--set lamp.pin`` and ``--set lamp.address`` are one setting."""
    assert load_rig("led", ["lamp.pin=5"]).lamp.address == 5


@pytest.mark.parametrize(
    ("setting", "said"),
    [
        ("lamp.cold_lagg_s=0", "--set lamp.cold_lagg_s: there is no such setting; right would be "
         "lamp.cold_lag_s."),
        ("cold_lag_s=0", "--set cold_lag_s: there is no such setting; right would be "
         "lamp.cold_lag_s."),
        ("safelight.celing.warm_up_s=1", "--set safelight.celing.warm_up_s: the rig has no "
         "safelight 'celing'; right would be ceiling."),
        ("safelight[2].warm_up_s=1", "--set safelight[2].warm_up_s: the rig has no safelight '2'"),
        ("safelight.ceiling=1", "--set safelight.ceiling: this is a whole table"),
        ("pedal.dry.bounce_ms=1", "--set pedal.dry.bounce_ms: the rig has no [[pedal]]"),
        ("lamp.rest_s.x=1", "--set lamp.rest_s.x: there is no such setting"),
        ("qqqq=1", "--set qqqq: there is no such setting; right would be a field"),
        ("lamp.rest_s", "--set: 'lamp.rest_s' sets nothing"),
        ("=3", "--set: '=3' sets nothing"),
        ("", "--set: '' sets nothing"),
        ("lamp.rest_s=pear", '--set lamp.rest_s: "pear" is not right; right would be a number'),
        ("lamp.contact=normally-closed", "--set lamp.contact: the lamp would burn"),
        ("lamp=3", "--set lamp: 3 is not right; right would be a table [lamp]"),
        ("safelight.1.nominated=false", "tungsten, safelight[1].contact: only the nominated"),
    ],
)  # fmt: skip
def test_bad_settings_get_their_sentence(setting: str, said: str) -> None:
    """A setting that is unknown, or whose value is wrong, is named with its remedy."""
    with pytest.raises(BadInput) as caught:
        load_rig("tungsten", [setting])
    assert str(caught.value).startswith(said)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.5", 0.5),
        ("3", 3),
        ("true", True),
        ('"3"', "3"),
        ("[1, 2]", [1, 2]),
        ("normally-open", "normally-open"),
        ("a b", "a b"),
        ("", ""),
        ("1\nother = 2", "1\nother = 2"),
    ],
)
def test_values_are_toml_else_text(text: str, value: object) -> None:
    """A value is read as TOML where it is one value of TOML, and is text otherwise."""
    assert value_of(text) == value


# --- the simulator's table, judged by others ------------------------------------------------


class Room(BaseModel):
    model_config = ConfigDict(extra="forbid")
    gap_s: float = Field(1, ge=0)


def test_others_may_have_their_table_explained() -> None:
    """A table that controller does not judge gets the same sentences."""
    with pytest.raises(ValidationError) as caught:
        Room.model_validate({"gab_s": 3})
    told = bad_input(caught.value, "rig.toml", prefix="simulator", model=Room)
    assert str(told) == (
        'rig.toml, simulator.gab_s: there is no such key here; right would be "gap_s".'
    )
    told = bad_input(caught.value, "rig.toml", prefix="simulator")
    assert str(told).startswith("rig.toml, simulator.gab_s: there is no such key here")
