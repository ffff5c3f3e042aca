"""Drivers by name, as the rig file gives them, found by entry point.

Anybody's package can add one by registering in a group; nothing here knows what exists.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from difflib import get_close_matches
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, cast

from controller.ports import (
    OnPresence,
    OutputDriver,
    Pedal,
    PedalDriver,
    Pluggable,
    PortFault,
    Sensor,
    SensorDriver,
    SounderDriver,
)

if TYPE_CHECKING:
    from controller.rig.model import Rig
    from controller.rig.sensors import SensorAt

OUTPUTS = "dryside.outputs"
PEDALS = "dryside.pedals"
SOUNDERS = "dryside.sounders"
SENSORS = "dryside.sensors"
SIMULATOR = "sim"  # the driver of what is imagined
BOX = "box"  # the switch on the paper box, among the pedals

# When, which contact, and yes or no. Called from any thread.
OnNamed: TypeAlias = Callable[[int, str, bool], None]


def find_outputs(name: str) -> OutputDriver:
    """Find a board of relays by its driver's name. Raises PortFault."""
    return cast(OutputDriver, _find(OUTPUTS, name, "output", ("open", "rescuer")))


def find_pedal(name: str) -> PedalDriver:
    """Find a kind of pedal by its driver's name. Raises PortFault."""
    return cast(PedalDriver, _find(PEDALS, name, "pedal", ("open",)))


def find_sounder(name: str) -> SounderDriver:
    """Find a kind of sounder by its driver's name. Raises PortFault."""
    return cast(SounderDriver, _find(SOUNDERS, name, "sounder", ("open",)))


def find_sensor(name: str) -> SensorDriver:
    """Find a kind of sensor by its driver's name. Raises PortFault."""
    return cast(SensorDriver, _find(SENSORS, name, "sensor", ("open",)))


def open_sensor(rig: Rig, sensor: SensorAt, run: Path) -> Sensor:
    """Open a sensor of the rig; an imagined one looks at the board in the run-time folder.

    Its own options go before those of its driver's board. Raises PortFault.
    """
    options = {**rig.driver_options(sensor.board), **sensor.options}
    if sensor.driver == SIMULATOR:
        options |= {"wire": str(run / "wire"), "room": rig.simulator}
    try:
        return find_sensor(sensor.driver).open(sensor.address, options)
    except PortFault as fault:
        raise PortFault(f"sensor {sensor.name!r}: {fault}") from fault


def open_pedals(rig: Rig, on_edge: OnNamed, on_presence: OnNamed | None = None) -> list[Pedal]:
    """Open the rig's pedals; edges come with their time and the pedal's name. Raises PortFault.

    So does, where it can be told, that one was unplugged (False) or is back (True).
    """
    return [
        _listen(
            find_pedal(pedal.driver).open(
                pedal.address,
                normally_closed=pedal.contact == "normally-closed",
                on_edge=_named(pedal.name, on_edge),
                options=rig.driver_options(pedal.driver),
            ),
            _named(pedal.name, on_presence) if on_presence else None,
        )
        for pedal in rig.pedal
    ]


def open_box(rig: Rig, on_edge: OnNamed, on_presence: OnNamed | None = None) -> Pedal | None:
    """Open the switch on the paper box, named "box": down is a shut lid. Raises PortFault.

    None where the rig has no such switch.
    """
    box = rig.box
    if box is None:
        return None
    return _listen(
        find_pedal(box.driver).open(
            box.address,
            normally_closed=box.contact == "normally-closed",
            on_edge=_named(BOX, on_edge),
            options=rig.driver_options(box.driver),
        ),
        _named(BOX, on_presence) if on_presence else None,
    )


def _named(name: str, told: OnNamed) -> Callable[[int, bool], None]:
    return lambda at_ns, yes: told(at_ns, name, yes)


def _listen(pedal: Pedal, on_presence: OnPresence | None) -> Pedal:
    if on_presence is not None and isinstance(pedal, Pluggable):
        pedal.watch(on_presence)
    return pedal


def names(group: str) -> list[str]:
    """List the drivers of a group, in order."""
    return sorted({each.name for each in entry_points(group=group)})


def _find(group: str, name: str, kind: str, members: Sequence[str]) -> object:
    # The same package may be seen twice (installed, and in the working folder): that is one.
    found = {each.value: each for each in entry_points(group=group) if each.name == name}
    if not found:
        raise PortFault(_unknown(group, name, kind))
    if len(found) > 1:
        raise PortFault(
            f"the {kind} driver {name!r} is registered more than once ({', '.join(found)}); "
            "uninstall the package that is not wanted"
        )
    driver = _load(next(iter(found.values())), kind)
    for member in members:
        if not callable(getattr(driver, member, None)):
            raise PortFault(f"the {kind} driver {name!r} is not one: it lacks {member}()")
    return driver


def _load(point: EntryPoint, kind: str) -> object:
    try:
        return point.load()
    except PortFault:
        raise
    except Exception as error:  # whatever a stranger's module may do while it is imported
        raise PortFault(
            f"the {kind} driver {point.name!r} ({point.value}) cannot be loaded: {error}"
        ) from error


def _unknown(group: str, name: str, kind: str) -> str:
    known = names(group)
    if not known:
        return (
            f"no {kind} driver is registered at all; install Dryside with pip "
            "(its drivers are found by the installed package's entry points)"
        )
    near = get_close_matches(name, known, n=1)
    hint = f"did you mean {near[0]!r}? " if near else ""
    here = ", ".join(repr(each) for each in known)
    return f"there is no {kind} driver {name!r}; {hint}Those that exist: {here}"
