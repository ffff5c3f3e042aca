"""Sensors and counters at the command line."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from controller.enlarger.counters import Count
from controller.ports import PortFault, Quantity, Reading, Sensor
from controller.rig.file import load_rig
from drivers import counters_file, found
from tests.ui.command import Told

RIG = """
name = "mine"
[lamp]
driver = "sim"  # where the light is measured
address = "lamp"
life_hours = 50
[[sensor]]
name = "house"
driver = "sim"
address = "lamp"
purpose = "lamp"
[[sensor]]
name = "tray"
driver = "one-wire"
address = "28-0316a2795bff"
purpose = "tray temperature"
[simulator]
lamp = "halogen"
"""


def test_a_lag_by_sensor_is_kept_as_a_strip_s_is(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """The imagined halogen lamp's numbers are found, and written into the rig file and the book.

    The file's comments stay, and no exposure is ended by the sensor before that is asked for.
    """
    file = tmp_path / "rig.toml"
    file.write_text(RIG)
    code, out, err = dryside("lag", "sensor", "--rig", str(file))
    assert code == 0, err
    assert "kept in" in out
    rig = load_rig(file)
    shipped = load_rig("halogen")
    assert "# where the light is measured" in file.read_text()
    for gap_s in (None, 4.0, 1.5):
        lag_s, known_s = rig.calibration().lag_s(gap_s), shipped.calibration().lag_s(gap_s)
        assert lag_s == pytest.approx(known_s, abs=0.003)
    assert rig.integration
    assert not rig.integration.ends_exposures
    assert rig.integration.full_light == pytest.approx(400, rel=0.01)
    assert rig.integration.tail_s == pytest.approx(0.0523, abs=0.003)
    code, out, err = dryside("lag", "sensor", "tray", "--rig", str(file))
    assert (code, out) == (2, "")
    assert "right would be house" in err


class Driver:
    """Reads one thing, or says why not."""

    def __init__(self, reading: Reading | None) -> None:
        self.reading = reading

    def open(self, address: int | str, options: Mapping[str, object]) -> Sensor:
        return self

    def read(self) -> Reading:
        if self.reading is None:
            raise PortFault("it is unplugged")
        return self.reading

    def close(self) -> None:
        """Nothing is held."""


def test_every_sensor_is_read_once(
    dryside: Callable[..., Told], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each has its line, with its unit, and one that fails costs the others nothing."""
    file = tmp_path / "rig.toml"
    file.write_text(RIG)
    drivers = {
        "sim": Driver(None),
        "one-wire": Driver(Reading(Quantity.TEMPERATURE, 20.04, time.monotonic_ns())),
    }
    monkeypatch.setattr(found, "find_sensor", lambda name: drivers[name])
    code, out, _ = dryside("rig", "sensors", "--rig", str(file))
    assert code == 0
    assert [line.split(maxsplit=1)[1].split(maxsplit=1) for line in out.splitlines()] == [
        ["lamp", "it is unplugged"],
        ["tray", "temperature 20.0 °C"],
    ]
    _, out, _ = dryside("rig", "sensors", "--json", "--rig", str(file))
    assert [row["value"] for row in json.loads(out)] == [None, 20.04]


def test_counters_are_shown_and_begin_anew(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """Hours, operations and what is worn are told; a changed bulb is counted from today."""
    file = tmp_path / "rig.toml"
    file.write_text(RIG)
    home = tmp_path / "home"
    home.mkdir()
    counters_file.add(home, "mine", {"lamp": Count(46 * 3600.0, 95.0, 1234)})
    code, out, err = dryside("rig", "counters", "--rig", str(file))
    assert code == 0
    assert "This rig is imagined" in err
    assert "46.0 of 50" in out
    assert "1,234" in out
    assert "have a new one ready" in out
    code, out, _ = dryside("rig", "counters", "reset", "lamp", "--bulb", "--rig", str(file))
    assert code == 0
    _, out, _ = dryside("rig", "counters", "--json", "--rig", str(file))
    told = json.loads(out)
    assert told["reminders"] == []
    [lamp] = told["outputs"]
    assert (lamp["hours"], lamp["longest_s"], lamp["operations"]) == (0.0, 0.0, 1234)
    assert lamp["bulb_since"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("reset", "lamp"), "--bulb, or --relay"),
        (("reset", "lamb", "--bulb"), "right would be lamp"),
    ],
)
def test_a_reset_that_says_too_little(
    dryside: Callable[..., Told], tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    """What was changed, and of which output, must be said."""
    file = tmp_path / "rig.toml"
    file.write_text(RIG)
    code, _, err = dryside("rig", "counters", *words, "--rig", str(file))
    assert code == 2
    assert said in err
