"""The rig: what is wired to what."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pydantic import BaseModel, ValidationError

from controller.enlarger.lamp import Calibration, LampLimits
from controller.exposing.foot import FootTimes
from controller.keeper import OutputRule
from controller.ports import Line
from controller.rig.cautions import warnings
from controller.rig.file import (
    EXAMPLES,
    IMAGINED,
    example_rig,
    find_faults,
    imagined_rig,
    parse,
    with_settings,
)
from controller.rig.model import Rig, TalkingFolder
from controller.rig.settings import nested

LEAST = '[lamp]\ndriver = "gpio"\naddress = 17\n'
CEILING = (
    '[[safelight]]\nname = "ceiling"\naddress = 22\ncontact = "normally-closed"\nnominated = true\n'
)


def rig(text: str) -> Rig:
    return Rig.model_validate(parse(text, "rig.toml"))


def test_a_lamp_is_all_that_a_rig_needs() -> None:
    """A rig of a lamp alone has one dark line and the defaults of everything else."""
    least = rig(LEAST)
    assert least.lines() == [Line("lamp", 17)]
    assert least.rules() == [OutputRule("lamp", False, lamp=True, longest_ns=180 * 10**9)]
    assert least.limits() == LampLimits()
    assert least.calibration() == Calibration()
    assert least.foot_times() == FootTimes()
    assert least.sounder.driver == "bell"


@pytest.mark.parametrize("board", EXAMPLES)
def test_the_example_loads_without_a_fault_or_a_warning(board: str) -> None:
    """The commented example is a rig that nothing can be said against."""
    raw = parse(example_rig(board), "example")
    assert raw["lamp"]["driver"] == board
    assert find_faults(raw, "example") == []
    assert warnings(raw) == []


def test_lines_follow_the_wiring() -> None:
    """Every output of the example has the line that its table describes."""
    lines = {line.name: line for line in rig(example_rig()).lines()}
    assert lines == {
        "lamp": Line("lamp", 17),
        "ceiling": Line("ceiling", 22, normally_closed=True),
        "bench": Line("bench", 23),
        "room": Line("room", 24),
    }


def test_only_the_nominated_safelight_burns_when_all_fails() -> None:
    """By the keeper's rules all is dark in the safe state but one safelight."""
    assert {r.name: r.safe_lit for r in rig(example_rig()).rules()} == {
        "lamp": False,
        "ceiling": True,
        "bench": False,
        "room": False,
    }


def test_start_and_stop() -> None:
    """Safelights burn at the start; at the end each light is as its wiring leaves it."""
    example = rig(example_rig())
    assert example.lights_at_start() == {"ceiling": True, "bench": True, "room": False}
    assert example.lights_at_stop() == {"ceiling": True, "bench": False, "room": False}


def test_a_contact_frame_is_a_lamp_to_the_keeper() -> None:
    """A light that exposes paper is bounded in time, and set neither at start nor at stop."""
    framed = rig(
        LEAST
        + '[[light]]\nname = "frame"\nkind = "contact-frame"\naddress = 5\nlongest_on_s = 40\n'
    )
    assert OutputRule("frame", False, lamp=True, longest_ns=40 * 10**9) in framed.rules()
    assert framed.lights_at_start() == {}
    assert framed.lights_at_stop() == {}


def test_a_safelight_with_a_plug_of_its_own_has_no_line() -> None:
    """What is not switched needs no address, and no nominated one beside it."""
    plugged = rig(LEAST + '[[safelight]]\nname = "sodium"\nmay_be_switched = false\n')
    assert [line.name for line in plugged.lines()] == ["lamp"]
    assert plugged.lights_at_start() == {}


def test_pin_is_another_word_for_address() -> None:
    """``pin = 17`` means ``address = 17``, wherever there is an address."""
    text = example_rig()
    assert rig(text.replace("address =", "pin =")) == rig(text)


@pytest.mark.parametrize("driver", ["buzzer", "piezo"])
def test_a_buzzer_is_told_of_the_gpio_board(driver: str) -> None:
    """A sounder on a line gets its address and the options of the board gpio."""
    text = LEAST + f'[sounder]\ndriver = "{driver}"\npin = 12\n[board.gpio]\nlibrary = "mock"\n'
    assert rig(text).sounder_options() == {
        "address": 12,
        "active": "high",
        "speech": True,
        "library": "mock",
    }
    assert rig(text).driver_options() == {"library": "mock"}


@pytest.mark.parametrize("kind", IMAGINED)
def test_imagined_rigs_load(kind: str) -> None:
    """Each imagined rig has its lamp, one nominated safelight, and nothing else to switch."""
    imagined = imagined_rig(kind)
    assert imagined.imagined
    assert imagined.simulator["lamp"] == kind
    nominated = imagined.nominated()
    assert nominated is not None
    assert nominated.name == "ceiling"
    assert [line.name for line in imagined.lines()] == ["lamp", "ceiling"]


def test_a_talking_book_needs_only_its_folder() -> None:
    """Without [talk] there is none; with a folder the rest has defaults."""
    assert rig(LEAST).talk is None
    talk = rig(LEAST + '[talk]\nfolder = "~/book"\n').talk
    assert talk == TalkingFolder(folder="~/book")
    assert (talk.volume, talk.under_prompts, talk.starts) == (0.5, 0.15, "by-itself")


def test_the_examples_talking_book_is_right_where_it_is_wanted() -> None:
    """The lines of the example that are commented out load when their signs are taken away."""
    lines = example_rig().splitlines()
    begin = lines.index(next(line for line in lines if line.startswith("# [talk]")))
    end = lines.index("", begin)
    lines[begin:end] = [line.removeprefix("# ") for line in lines[begin:end]]
    assert rig("\n".join(lines)).talk == TalkingFolder(folder="~/book")


def test_digests_tell_rigs_apart() -> None:
    """The digest is the same for the same rig, and another when one number is another."""
    tungsten = imagined_rig("tungsten")
    assert tungsten.digest() == imagined_rig("tungsten").digest()
    assert with_settings(tungsten, ["lamp.rest_s=1.5"]).digest() != tungsten.digest()
    assert len({imagined_rig(kind).digest() for kind in IMAGINED}) == len(IMAGINED)


def test_a_rig_made_in_code_is_held_to_the_same_rules() -> None:
    """The model itself refuses what contradicts itself, file or not."""
    with pytest.raises(ValidationError, match="would burn whenever the relay is not energised"):
        Rig.model_validate(
            {"lamp": {"driver": "gpio", "address": 17, "contact": "normally-closed"}}
        )


def _fields(model: type[BaseModel], before: str = "") -> Iterator[tuple[str, str | None]]:
    for name, field in model.model_fields.items():
        yield before + name, field.description
        inner, _ = nested(field.annotation)
        if inner:
            yield from _fields(inner, f"{before}{name}.")


def test_every_field_is_documented() -> None:
    """Each field of the rig file says what it means."""
    assert [path for path, description in _fields(Rig) if not description] == []


@pytest.mark.parametrize(
    ("pin", "active", "said"),
    [
        (4, "high", "pulls GPIO 4 up at boot, which energises an active-high relay"),
        (17, "low", "pulls GPIO 17 down at boot, which energises an active-low relay"),
        (14, "high", "GPIO 14 may also serve"),
        (16, "high", None),
        (27, "high", None),
        (4, "low", None),
        (6, "low", None),
    ],
)
def test_advice_on_boot_levels(pin: int, active: str, said: str | None) -> None:
    """A relay that the Pi's own pull resistor would energise at boot is warned of."""
    text = f'[lamp]\ndriver = "gpio"\npin = {pin}\nactive = "{active}"\n' + CEILING
    told = [w for w in warnings(parse(text, "rig.toml"), "rig.toml") if w.field == "lamp.pin"]
    assert [said in w.what for w in told if said] == ([True] if said else [])
    assert len(told) == bool(said)
    assert find_faults(parse(text, "rig.toml"), "rig.toml") == []


def test_what_is_left_out_is_warned_of_but_no_fault() -> None:
    """No safelight, no pedal, and a room imagined in vain may be; the owner hears of them."""
    raw = parse(LEAST + '[simulator]\nlamp = "led"\n', "rig.toml")
    assert find_faults(raw, "rig.toml") == []
    assert [w.field for w in warnings(raw)] == ["safelight", "pedal", "simulator"]


SENSOR = """[[sensor]]
name = "house"
driver = "bh1750"
address = 0x23
purpose = "lamp"
options = { mode = "quick" }
"""
ENDS = '[integration]\nsensor = "house"\nfull_light = 400\n'


def test_a_sensor_may_end_exposures() -> None:
    """A sensor that sees the lamp gives the runner what it needs, unless it is told not to."""
    ends = rig(LEAST + SENSOR + ENDS)
    seen = ends.seen_lamp()
    assert seen
    assert (seen.full, seen.longest_s) == (400.0, 180.0)
    assert ends.lamp_sensor() == ends.sensor[0]
    told_not_to = rig(LEAST + SENSOR + ENDS + "ends_exposures = false\n")
    assert told_not_to.seen_lamp() is None
    assert told_not_to.lamp_sensor() is None
    assert rig(LEAST + SENSOR).seen_lamp() is None


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (SENSOR.replace('"lamp"', '"lamb"'), 'sensor[1].purpose: "lamb" is not right'),
        (SENSOR + SENSOR, "sensor[2].name: 'house' is the name of sensor[1] already"),
        (ENDS, "integration.sensor: 'house' is no sensor that sees the lamp"),
        (
            SENSOR.replace('"lamp"', '"stray"') + ENDS,
            "integration.sensor: 'house' is no sensor that sees the lamp",
        ),
        (SENSOR + ENDS + "dark = 500\n", "integration.full_light: 400 is not more than dark = 500"),
        (
            SENSOR.replace("bh1750", "light-pin").replace("0x23", "17"),
            "sensor[1].address: 17 of 'gpio' is used by lamp already",
        ),
        (
            SENSOR.replace("bh1750", "light-pin").replace("0x23", "35"),
            "sensor[1].address: the header of a Raspberry Pi has no GPIO 35",
        ),
    ],
)
def test_faults_of_sensors_are_told(text: str, fault: str) -> None:
    """What a sensor, or the table that ends exposures, cannot be is told by field."""
    [found] = find_faults(parse(LEAST + text, "rig.toml"), "rig.toml")
    assert str(found).startswith(f"rig.toml, {fault}; right would be")


def test_two_chips_may_have_one_address() -> None:
    """Chips with the same address hang on different buses, which is no fault."""
    second = SENSOR.replace("house", "easel").replace("quick", "fine")
    assert find_faults(parse(LEAST + SENSOR + second, "rig.toml"), "rig.toml") == []
