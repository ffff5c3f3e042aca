"""The driver "sim" of the group ``dryside.sensors``: it sees the imagined lamp, or the room.

What it sees follows the edges that the imagined board writes. Options: those of ``sim.eye``
(``full_lux``, ``dark_lux``, ``noise``, ``over_s``, ``most_lux``, ``silent``), and ``wire`` and
``room``, which the unit adds by itself. The address is the lamp's output; or a place ("easel",
"trays", or one of the room's ``sensors``), from which it looks up at the lights of the room.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from pathlib import Path

from controller.ports import PortFault, Quantity, Reading, Sensor
from sim.room_settings import EASEL, TRAYS

_LATE_NS = 5_000_000  # so long an edge takes to be in the file
_WAIT_NS = 1_000_000_000


class ImaginedSensor:
    """The driver; the class itself is it. What it needs is loaded when it is opened."""

    @staticmethod
    def open(address: int | str, options: Mapping[str, object]) -> Sensor:
        """Look at the imagined lamp. Raises PortFault for an option that is not right."""
        from pydantic import ValidationError

        from sim.eye import EyeSettings
        from sim.settings import SimulatorSettings

        given = dict(options)
        wire, room = given.pop("wire", None), given.pop("room", {})
        given.pop("fail", None)  # of the board beside it, in the same table
        if not isinstance(wire, str) or not wire:
            raise PortFault(
                f"option wire = {wire!r}: the imagined sensor needs the imagined board's file"
            )
        try:
            eye = EyeSettings.model_validate(given)
            settings = SimulatorSettings.model_validate(room)
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            where = ".".join(str(step) for step in first["loc"])
            said = first["msg"]
            raise PortFault(
                f"option {where}: {said[:1].lower()}{said[1:]}; right would be one of "
                f"{', '.join(EyeSettings.model_fields)}, with a number"
            ) from None
        if str(address) in (EASEL, TRAYS, *settings.sensors):
            return _Looking(Path(wire), str(address), settings)
        return _Following(Path(wire), str(address), eye, settings)


class _Following:
    """An imagined lamp that does what the wire says, and an eye in its house."""

    def __init__(self, wire: Path, lamp: str, eye: object, settings: object) -> None:
        from sim.eye import Eye, EyeSettings
        from sim.settings import SimulatorSettings
        from sim.world import ImaginedWorld

        assert isinstance(eye, EyeSettings)
        assert isinstance(settings, SimulatorSettings)
        self._wire = wire
        self._lamp = lamp
        self._world = ImaginedWorld(settings, lamp=lamp)
        self._eye = Eye(eye, settings.seed)
        self._read = 0  # so much of the wire was read
        self._last_ns = 0

    def read(self) -> Reading:
        until_ns = time.monotonic_ns() + _WAIT_NS
        while time.monotonic_ns() < until_ns:
            due_ns = self._last_ns + self._eye.every_ns
            time.sleep(max(0, due_ns - time.monotonic_ns()) / 1e9)
            now_ns = self._last_ns = time.monotonic_ns() - _LATE_NS
            self._follow()
            reading = self._eye.see(now_ns, self._world.lamp_light_s(now_ns))
            if reading is not None:
                return reading
        raise PortFault("the imagined sensor is silent, as it was asked to be")

    def close(self) -> None:
        """Nothing is held open."""

    def _follow(self) -> None:
        edges, self._read = edges_after(self._wire, self._read)
        for at_ns, name, lit in edges:
            if name == self._lamp:
                self._world.switch(at_ns, name, lit)


def edges_after(wire: Path, read: int) -> tuple[list[tuple[int, str, bool]], int]:
    """Give the edges that were written after so many bytes, and how many bytes there are now.

    Each as its time, the output and whether it is lit; a line that is not whole yet is left.
    """
    if not wire.exists():
        return [], read
    text = wire.read_bytes()[read:]
    whole = text[: text.rfind(b"\n") + 1]
    edges = []
    for line in whole.decode().splitlines():
        at_ns, name, _level, lit = line.split()
        edges.append((int(at_ns), name, lit == "1"))
    return edges, read + len(whole)


class _Looking:
    """A lux meter that lies at a place of the imagined room and looks up."""

    def __init__(self, wire: Path, place: str, settings: object) -> None:
        from sim.settings import SimulatorSettings
        from sim.world import ImaginedWorld

        assert isinstance(settings, SimulatorSettings)
        self._wire = wire
        self._place = place
        self._world = ImaginedWorld(settings, begun_ns=time.monotonic_ns())
        self._read = 0

    def read(self) -> Reading:
        now_ns = time.monotonic_ns()
        edges, self._read = edges_after(self._wire, self._read)
        for at_ns, name, lit in edges:
            self._world.switch(at_ns, name, lit)
        lux = self._world.light_at_sensor_lux(now_ns, self._place)
        return Reading(Quantity.ILLUMINANCE, lux, now_ns)

    def close(self) -> None:
        """Nothing is held open."""
