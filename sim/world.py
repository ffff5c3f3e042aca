"""The imagined room in virtual time: relay, lamp, sheet and printer behind one port."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from controller.ports import Carrier, Carry, Cue, Filter, Hands, Lens, Move, NewSheet, Shade, Switch
from sim.carried import WALK, Carried
from sim.filters import NO_FILTER, counted_as
from sim.hands import Done, Operator, PedalEdge
from sim.lamps import lamp_of
from sim.optics import let_through, light_at
from sim.paper import Emulsion, Paper
from sim.picture import Bands, Even, Picture
from sim.projected import ProjectedScene
from sim.relay import relay_of
from sim.room import Room
from sim.room_settings import EASEL, SCREEN, TRAYS
from sim.settings import NegativeKind, PaperKind, SimulatorSettings
from sim.shades import Shades
from sim.sheet import DevelopedSheet, Sheet
from sim.spectra import lamp_spectrum
from sim.supply import Supply
from sim.tungsten import Floats
from sim.variable import VariablePaper
from sim.wet import Trays
from sim.wet_hands import TrayHands

# With reciprocity failure light must be followed closely while it changes.
_CLOSE_NS, _CLOSE_FOR_NS, _FAR_NS = 2_000_000, 600_000_000, 100_000_000


class Switched(NamedTuple):
    """An output was switched."""

    at_ns: int
    output: str
    lit: bool


class ImaginedWorld:
    """Implements ``controller.ports.World``; also takes a recorded history, through ``do``.

    ``lamp`` is the name of the enlarger's output. ``lit`` tells how other outputs begin; a
    safelight that is not named there begins lit, as safelights do. ``begun_ns`` is when events
    are counted from, if not from the first light switched or thing done.
    """

    def __init__(
        self,
        settings: SimulatorSettings | None = None,
        *,
        lamp: str = "lamp",
        lit: Mapping[str, bool] | None = None,
        begun_ns: int | None = None,
        wet_hands: TrayHands | None = None,
    ) -> None:
        self.settings = settings or SimulatorSettings()
        s = self.settings
        self.switched: list[Switched] = []
        self.done: list[Done] = []
        self.operator = Operator(s.hands, seed=s.seed, lamp=lamp)
        self.paper: Emulsion = paper_of(s)
        self._name = lamp
        supply = Supply(s, random.Random(f"{s.seed} supply"))
        self._lamp = lamp_of(s, supply)
        self._lamp_s = 0.0  # the light that the lamp gave so far, in seconds of full light
        self._relay = relay_of(s, random.Random(f"{s.seed} relay"), supply.phase_ns)
        self._slips = random.Random(f"{s.seed} slips")
        self._lit = dict.fromkeys(s.safelights, True) | dict(lit or {})
        self._safelight_lux = self._lux_of_safelights()
        self._aperture = 1.0
        self._filter = NO_FILTER
        self._through = self.paper.unfiltered
        self._shades = Shades()
        self._picture = self._negative = picture_of(s)
        self._at_trays = False
        self._sheet: Sheet | None = None
        self._sheets: list[Carried] = []
        self.wet_hands = wet_hands or TrayHands()
        self.trays = Trays(s.wet, self.wet_hands) if s.wet else None
        self._on_their_way: list[Carried] = []
        self._now_ns: int | None = None
        self._changed_ns = 0
        self._dark_ns: int | None = 0  # from when on the lamp is dark; None: it is lit
        self._room = Room(s, lamp=lamp, lit=lit or {}, begun_ns=begun_ns)
        # what the room's lights are to the paper now, by place, and what they were since they
        # were counted
        self._room_lux: dict[str, Floats | None] = {}
        self._room_s = 0.0
        self._fallen = {place: np.zeros(self.paper.parts) for place in self._room.places}
        self._room_changed()

    # -- the port ----------------------------------------------------------------------------

    def switch(self, now_ns: int, name: str, lit: bool) -> None:
        """An output was switched: the lamp's relay, or another light."""
        self._advance(now_ns)
        self._begin(now_ns)
        self.switched.append(Switched(now_ns, name, lit))
        self.operator.saw(now_ns, name, lit)
        if name == self._name:
            self._relay.command(now_ns, lit)
        else:
            self._count()
            self._lit[name] = lit
            self._safelight_lux = self._lux_of_safelights()
        if self._room.switch(name, lit):
            self._room_changed()

    def screen(self, now_ns: int, *, shown: bool) -> None:
        """The unit's own screen was lit, or went black: a light of the room, if it is one."""
        self._advance(now_ns)
        self._begin(now_ns)
        if self._room.switch(SCREEN, shown):
            self._room_changed()

    def hear(self, now_ns: int, cue: Cue) -> None:
        """The printer hears a cue."""
        self.operator.hear(now_ns, cue)
        self.wet_hands.hear(now_ns, cue.text)

    def next_ns(self) -> int | None:
        """When will the printer next do something, or something happen in the room?"""
        times = (self.operator.next_ns(), self._happens_ns())
        return min((ns for ns in times if ns is not None), default=None)

    def act(self, now_ns: int) -> Sequence[bool]:
        """Let the printer do what is due; gives the pedal's edges."""
        if self._happens_ns() is not None:
            self._advance(now_ns)
        edges: list[bool] = []
        for happening in self.operator.act(now_ns):
            match happening:
                case PedalEdge(down=down):
                    edges.append(down)
                case Done(at_ns=at_ns, hands=hands):
                    self.do(at_ns, hands)
        return edges

    # -- by hand, and at the end -------------------------------------------------------------

    def do(self, at_ns: int, hands: Hands) -> None:
        """Let something be done by hand: what the operator does, or what a history tells."""
        self._advance(at_ns)
        self._begin(at_ns)
        self.done.append(Done(at_ns, hands))
        match hands:
            case NewSheet():
                if self._sheet is not None and self._sheet.laid == hands:
                    return  # asked again for the sheet that lies there
                self._take_away()
                self._shades.put_down()  # both hands are needed
                self._at_trays = False
                s = self.settings
                self._sheet = Sheet(
                    hands,
                    self.paper,
                    self._picture,
                    s.cell_mm,
                    soft_mm=s.shade_soft_mm,
                    blades=s.blades,
                )
                self._shine_on_sheet()
            case Move():
                slip_mm = self._slips.gauss(0.0, self.settings.placement_mm)
                if self._sheet is not None:
                    # nobody is so careless as to be a quarter of a patch off
                    self._sheet.move(hands, slip_mm=self._within_patch(hands, slip_mm))
                    self._shine_on_sheet()
            case Lens(aperture=aperture):
                s = self.settings
                self._aperture = let_through(
                    aperture, working=s.working_aperture, widest=s.widest_aperture
                )
            case Filter():
                self._filter = counted_as(hands)
                self._through = self.paper.through(hands)
            case Carrier(negative=negative):
                self._picture = self._negative if negative else self._without_negative()
                if self._sheet is not None:
                    self._sheet.project(self._picture)
            case Carry(place="developer"):
                self._take_away()
            case Switch(lights=lights, lit=lit):
                if self._room.by_hand(lights, lit=lit):
                    self._room_changed()
            case Carry(place=place):
                self._at_trays = place == TRAYS
                self._shine_on_sheet()
            case Shade():
                self._shades.take(hands)
                if self._sheet is not None:
                    self._sheet.shade(self._shades)

    def develop(self, now_ns: int) -> list[DevelopedSheet]:
        """Wait until the lamp is dark, take the sheet away, and give every developed sheet."""
        self._advance(now_ns)
        self._advance(now_ns + round(self._lamp.dark_after_s * 1e9))
        self._take_away()
        # who is on the way then gets there under the lights that are lit now
        for sheet in self._on_their_way:
            sheet.go_on(math.inf, self._safelight_lux, self._room_lux)
        self._on_their_way.clear()
        return [sheet.developed for sheet in self._sheets]

    # -- the room, for instruments -----------------------------------------------------------

    def box_open(self, now_ns: int) -> bool:
        """Tell whether the box of paper is open: what a reed switch on it says."""
        return self._room.box_open(now_ns)

    def light_at_sensor_lux(self, now_ns: int, place: str) -> float:
        """Give what a lux meter reads that looks up at the "easel", the "trays" or a sensor.

        It sees the lights of ``lights`` as they were last switched, and no beam of the enlarger.
        Raises ValueError where there is no such place.
        """
        return self._room.lux(self._known(place), now_ns)

    def lamp_light_s(self, now_ns: int) -> float:
        """Give the light that the lamp gave so far, in seconds of full light, before the lens."""
        self._advance(now_ns)
        return self._lamp_s

    def actinic_lux_s(self, now_ns: int, place: str) -> float:
        """Give the light of safelights and room that fell at a place since the beginning.

        In lux seconds as paper that lies there uncovered sums it up, on the average of its
        parts and without regard to any image: what a sheet collected is a difference of two.
        Raises ValueError where there is no such place.
        """
        self._known(place)
        self._advance(now_ns)
        self._count()
        return float(self._fallen[place] @ self.paper.shares)

    # -- inside ------------------------------------------------------------------------------

    def _advance(self, to_ns: int) -> None:
        if self._now_ns is None:
            self._now_ns = to_ns
            self._lamp.advance(to_ns)
            self._room_changed()
        while (change := self._relay.next_change(to_ns)) is not None:
            at_ns, closed = change
            self._shine(max(at_ns, self._now_ns))
            self._lamp.switch(self._now_ns, powered=closed)
            self._changed_ns = self._now_ns
            dark_ns = self._now_ns + round(self._lamp.dark_after_s * 1e9)
            self._dark_ns = None if closed else dark_ns
            if self._sheet is not None:
                self._sheet.settle()
        self._shine(max(to_ns, self._now_ns))

    def _shine(self, to_ns: int) -> None:
        assert self._now_ns is not None
        while self._now_ns < to_ns:
            next_ns = to_ns
            # of a lamp that is dark nothing changes: hours under a safelight are one step
            dark = self._dark_ns is not None and self._now_ns >= self._dark_ns
            if not self.paper.linear and not dark:
                close = self._now_ns - self._changed_ns < _CLOSE_FOR_NS
                next_ns = min(to_ns, self._now_ns + (_CLOSE_NS if close else _FAR_NS))
            happens_ns = self._room.next_change(self._now_ns)
            if happens_ns is not None:
                next_ns = min(next_ns, happens_ns)
            # rounding makes a hair less than nothing of a lamp that has long been dark
            full_s = max(0.0, self._lamp.advance(next_ns))
            self._lamp_s += full_s
            lamp_s = full_s * self._aperture
            passed_s = (next_ns - self._now_ns) / 1e9
            if self._sheet is not None:
                self._sheet.expose(
                    passed_s,
                    0.0 if self._at_trays else lamp_s,
                    self._safelight_lux,
                    through=self._through,
                    name=self._filter,
                )
            for sheet in self._on_their_way:
                sheet.go_on(passed_s, self._safelight_lux, self._room_lux)
            self._on_their_way = [sheet for sheet in self._on_their_way if not sheet.is_there]
            self._room_s += passed_s
            self._now_ns = next_ns
            if next_ns == happens_ns:
                self._room_changed()

    def _take_away(self) -> None:
        if self._sheet is not None:
            carried = Carried(self._sheet, self.settings, self.trays)
            carried.go_on(0.0, self._safelight_lux, self._room_lux)
            self._sheets.append(carried)
            if not carried.is_there:
                self._on_their_way.append(carried)
            self._sheet = None

    def _happens_ns(self) -> int | None:
        """Tell when something next begins or ends in the room by itself."""
        if self._now_ns is not None:
            return self._room.next_change(self._now_ns)
        begun_ns = self._room.begun_ns
        return None if begun_ns is None else self._room.next_change(begun_ns - 1)

    def _begin(self, now_ns: int) -> None:
        """Let events be counted from now, if nothing was done or switched before."""
        if self._room.begun_ns is None:
            self._room.begun_ns = now_ns
            self._room_changed()

    def _room_changed(self) -> None:
        """Look at every light anew: one was switched, or something begins or ends."""
        self._count()
        now_ns = self._now_ns or 0
        for place in self._room.places:
            lux = self._room.actinic_lux(place, now_ns)
            self._room_lux[place] = lux[:, None, None] if lux.any() else None
        easel, trays = self._room_lux[EASEL], self._room_lux[TRAYS]
        both = [lux for lux in (easel, trays) if lux is not None]
        self._room_lux[WALK] = sum(both[1:], both[0]) / 2.0 if both else None
        self._shine_on_sheet()

    def _shine_on_sheet(self) -> None:
        if self._sheet is not None and self._at_trays:
            self._sheet.under(self._room_lux[TRAYS])
        elif self._sheet is not None:
            self._sheet.under(self._room.field(self._sheet.ground, self._now_ns or 0))

    def _count(self) -> None:
        """Sum up what fell at each place since the lights last changed."""
        for place, fallen in self._fallen.items():
            lux = self.paper.unfiltered * self._safelight_lux
            room = self._room_lux.get(place)
            if room is not None:
                lux = lux + room[:, 0, 0]
            fallen += self.paper.rate(lux) * self._room_s
        self._room_s = 0.0

    def _known(self, place: str) -> str:
        if place not in self._room.places:
            known = ", ".join(self._room.places)
            raise ValueError(f"there is no place {place!r} in the imagined room; it has {known}")
        return place

    def _lux_of_safelights(self) -> float:
        return sum(lux for name, lux in self.settings.safelights.items() if self._lit[name])

    def _without_negative(self) -> Picture:
        """Give even light, or what a step tablet on the paper lets through of it."""
        lux = self._negative_free_lux()
        tablet = self.settings.contact_tablet
        return Bands([lux * 10.0**-density for density in tablet]) if tablet else Even(lux)

    def _negative_free_lux(self) -> float:
        s = self.settings
        if s.easel_magnification is None:
            return s.easel_lux
        return s.easel_lux * light_at(s.magnification, s.easel_magnification, s.pupil)

    def _within_patch(self, move: Move, slip_mm: float) -> float:
        assert self._sheet is not None
        laid = self._sheet.laid
        along_mm = laid.width_mm if move.edge in ("left", "right") else laid.height_mm
        limit_mm = along_mm / move.patches / 8
        return max(-limit_mm, min(limit_mm, slip_mm))


def picture_of(settings: SimulatorSettings) -> Picture:
    """Project the negative that the settings ask for, as bright as their optics make it."""
    s = settings
    lux = s.easel_lux
    if s.easel_magnification is not None:
        lux *= light_at(s.magnification, s.easel_magnification, s.pupil)
    if s.negative is NegativeKind.SCENE:
        return ProjectedScene(s, lux)
    return Bands([lux * 10.0**-density for density in s.tones])


def paper_of(settings: SimulatorSettings) -> Paper | VariablePaper:
    """Make the paper that the settings ask for, as it sees the lamp that they ask for."""
    if settings.paper.kind is PaperKind.VARIABLE:
        return VariablePaper(settings.paper, lamp_spectrum(settings))
    return Paper(settings.paper, settings.filters)
