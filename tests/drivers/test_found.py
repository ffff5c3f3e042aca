"""Drivers are found by name, and what cannot be found is said with what would be right."""

from __future__ import annotations

import importlib
import tomllib
from importlib.metadata import EntryPoint, EntryPoints
from pathlib import Path

import pytest

from controller.ports import PortFault
from drivers import found
from drivers.found import find_outputs, find_pedal, find_sounder, names
from drivers.gpio import GpioOutputs, GpioPedal
from drivers.sounder import Bell, Silent

PYPROJECT = Path(__file__).parents[2] / "pyproject.toml"
REGISTERED = [
    EntryPoint("gpio", "drivers.gpio:GpioOutputs", found.OUTPUTS),
    EntryPoint("gpio", "drivers.gpio:GpioOutputs", found.OUTPUTS),  # seen twice
    EntryPoint("broken", "no.such.module:Thing", found.OUTPUTS),
    EntryPoint("half", "drivers.gpio:GpioPedal", found.OUTPUTS),
    EntryPoint("two", "drivers.gpio:GpioOutputs", found.OUTPUTS),
    EntryPoint("two", "other.gpio:Outputs", found.OUTPUTS),
    EntryPoint("gpio", "drivers.gpio:GpioPedal", found.PEDALS),
    EntryPoint("bell", "drivers.sounder:Bell", found.SOUNDERS),
    EntryPoint("silent", "drivers.sounder:Silent", found.SOUNDERS),
]


@pytest.fixture
def registered(monkeypatch: pytest.MonkeyPatch) -> None:
    def entry_points(*, group: str) -> EntryPoints:
        return EntryPoints(each for each in REGISTERED if each.group == group)

    monkeypatch.setattr(found, "entry_points", entry_points)


@pytest.mark.usefixtures("registered")
def test_drivers_are_found_by_name() -> None:
    """Each group gives the object that was registered under the name."""
    assert find_outputs("gpio") is GpioOutputs
    assert find_pedal("gpio") is GpioPedal
    assert find_sounder("bell") is Bell
    assert find_sounder("silent") is Silent
    assert names(found.SOUNDERS) == ["bell", "silent"]


@pytest.mark.usefixtures("registered")
def test_unknown_names() -> None:
    """An unknown name is refused with the nearest spelling and with all that exist."""
    with pytest.raises(PortFault) as caught:
        find_sounder("silnet")
    assert str(caught.value) == (
        "there is no sounder driver 'silnet'; did you mean 'silent'? "
        "Those that exist: 'bell', 'silent'"
    )
    with pytest.raises(PortFault, match="no pedal driver 'harp'; Those that exist: 'gpio'"):
        find_pedal("harp")


@pytest.mark.usefixtures("registered")
@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("broken", r"the output driver 'broken' \(no.such.module:Thing\) cannot be loaded: No mod"),
        ("half", r"the output driver 'half' is not one: it lacks rescuer\(\)"),
        ("two", r"'two' is registered more than once \(drivers.gpio:GpioOutputs, other.gpio:"),
    ],
)
def test_bad_drivers(name: str, sentence: str) -> None:
    """A driver that does not load, is none, or is not the only one, is refused by name."""
    with pytest.raises(PortFault, match=sentence):
        find_outputs(name)


def test_nothing_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without any registered driver the sentence says that Dryside is not installed."""
    monkeypatch.setattr(found, "entry_points", lambda group: EntryPoints())
    with pytest.raises(PortFault, match="no sounder driver is registered at all; install Dryside"):
        find_sounder("bell")


def test_what_is_registered_exists() -> None:
    """Every driver of this folder that the package registers can be loaded and has open()."""
    groups = tomllib.loads(PYPROJECT.read_text())["project"]["entry-points"]
    assert {found.OUTPUTS, found.PEDALS, found.SOUNDERS} <= set(groups)
    values = [v for group in groups.values() for v in group.values() if v.startswith("drivers.")]
    assert len(values) >= 6
    for module, _, name in (value.partition(":") for value in values):
        assert callable(getattr(importlib.import_module(module), name).open)
