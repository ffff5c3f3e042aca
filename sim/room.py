"""The room in time: which light is lit, what happens by itself, and what reaches which place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from sim.actinic import actinic
from sim.rays import Opening, lux_at, lux_over
from sim.room_settings import EASEL, SCREEN, TRAYS, EventKind, LightKind, Place
from sim.settings import SimulatorSettings
from sim.tungsten import Floats


class Ground(NamedTuple):
    """Where the cells of a sheet lie on the easel: their edges in m, and the blades' opening."""

    x_edges_m: Floats
    y_edges_m: Floats
    opening: Opening | None


class Room:
    """Every light of ``[simulator.lights]``; ``lamp`` is the name of the enlarger's output.

    Times of events count from ``begun_ns``; before it is known nothing happens.
    """

    def __init__(
        self,
        settings: SimulatorSettings,
        *,
        lamp: str,
        lit: Mapping[str, bool],
        begun_ns: int | None = None,
    ) -> None:
        self.begun_ns = begun_ns
        self.places: dict[str, Place] = {
            EASEL: (0.0, 0.0, 0.0),
            TRAYS: settings.trays_m,
            **settings.sensors,
        }
        self._lights = settings.lights
        self._events = settings.events
        self._box = [event for event in settings.events if event.what is EventKind.BOX]
        self._actinic = {name: actinic(each, settings) for name, each in self._lights.items()}
        by_events = {event.lights for event in settings.events}
        self._relay: dict[str, str] = {}
        self._lit: dict[str, bool] = {}  # by relay
        self._outputs = {lamp, SCREEN, *lit}  # what no hand switches
        for name, light in self._lights.items():
            leak = light.kind is LightKind.LEAK
            self._relay[name] = light.relay or (lamp if leak else name)
            begins = light.lit
            if begins is None:
                begins = self._relay[name] != lamp and name not in by_events
            self._lit.setdefault(self._relay[name], lit.get(self._relay[name], begins))
        self._dark = {name for name, light in self._lights.items() if light.lux_at_1m == 0.0}
        self._reach: dict[tuple[str, str], float] = {}
        self._ground: Ground | None = None
        self._maps: dict[str, Floats] = {}

    @property
    def empty(self) -> bool:
        """Is there no light in it at all?"""
        return not self._lights

    def switch(self, output: str, lit: bool) -> bool:
        """Take note of a switched output; tells whether that changes any light."""
        self._outputs.add(output)
        return self._set(output, lit)

    def by_hand(self, names: Sequence[str], *, lit: bool) -> bool:
        """Switch lights that no output switches, all of them if none is named.

        Tells whether that changes any light. A light with a relay stays as its relay has it.
        """
        known = [name for name in names or self._lights if name in self._lights]
        keys = {self._relay[name] for name in known} - self._outputs
        changed = [self._set(key, lit) for key in sorted(keys)]
        return any(changed)

    # -- what happens by itself --------------------------------------------------------------

    def next_change(self, now_ns: int) -> int | None:
        """Tell when the next event begins or ends."""
        if self.begun_ns is None:
            return None
        ends = (ns for event in self._events for ns in self._span(event.at_s, event.for_s))
        return min((ns for ns in ends if ns > now_ns), default=None)

    def box_open(self, now_ns: int) -> bool:
        """Tell whether the box of paper is open, as a reed switch would."""
        return any(self._now(box.at_s, box.for_s, now_ns) for box in self._box)

    def lit(self, now_ns: int) -> tuple[str, ...]:
        """Name the lights that are lit: by their relay, or by an event."""
        return tuple(
            name
            for name in self._lights
            if name not in self._dark and (self._lit[self._relay[name]] or self._by(name, now_ns))
        )

    # -- light -------------------------------------------------------------------------------

    def lux(self, place: str, now_ns: int) -> float:
        """Give what a lux meter reads that looks up at a place."""
        return sum(self._at(name, place) for name in self.lit(now_ns))

    def actinic_lux(self, place: str, now_ns: int) -> Floats:
        """Give what the lights are to each part of the paper, lying at a place."""
        parts: Floats = np.zeros(1)
        for name in self.lit(now_ns):
            parts = parts + self._actinic[name] * self._at(name, place)
        return parts

    def field(self, ground: Ground, now_ns: int) -> Floats | None:
        """Give what the lights are to each part of the paper over a sheet's cells; None: dark."""
        names = self.lit(now_ns)
        if not names:
            return None
        if ground is not self._ground:
            self._ground, self._maps = ground, {}
        field: Floats | float = 0.0
        for name in names:
            if name not in self._maps:
                self._maps[name] = lux_over(
                    self._lights[name], ground.x_edges_m, ground.y_edges_m, opening=ground.opening
                )
            field = field + self._actinic[name][:, None, None] * self._maps[name]
        assert not isinstance(field, float)
        return field

    # -- inside ------------------------------------------------------------------------------

    def _set(self, key: str, lit: bool) -> bool:
        if self._lit.get(key, lit) == lit:
            return False
        self._lit[key] = lit
        return True

    def _at(self, name: str, place: str) -> float:
        key = (name, place)
        if key not in self._reach:
            self._reach[key] = lux_at(self._lights[name], self.places[place])
        return self._reach[key]

    def _by(self, name: str, now_ns: int) -> bool:
        return any(
            event.lights == name and self._now(event.at_s, event.for_s, now_ns)
            for event in self._events
        )

    def _now(self, at_s: float, for_s: float, now_ns: int) -> bool:
        if self.begun_ns is None:
            return False
        begins_ns, ends_ns = self._span(at_s, for_s)
        return begins_ns <= now_ns < ends_ns

    def _span(self, at_s: float, for_s: float) -> tuple[int, int]:
        assert self.begun_ns is not None
        begins_ns = self.begun_ns + round(at_s * 1e9)
        return begins_ns, begins_ns + round(for_s * 1e9)
