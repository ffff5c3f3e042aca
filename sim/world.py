"""The imagined room in virtual time: relay, lamp, sheet and printer behind one port."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from controller.ports import Cue, Filter, Hands, Lens, Move, NewSheet, Shade
from sim.filters import NO_FILTER, counted_as
from sim.hands import Done, Operator, PedalEdge
from sim.lamps import lamp_of
from sim.optics import light_at
from sim.paper import Emulsion, Paper
from sim.picture import Bands, Picture
from sim.projected import ProjectedScene
from sim.relay import relay_of
from sim.settings import NegativeKind, PaperKind, SimulatorSettings
from sim.shades import Shades
from sim.sheet import DevelopedSheet, Sheet
from sim.spectra import lamp_spectrum
from sim.supply import Supply
from sim.variable import VariablePaper

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
    safelight that is not named there begins lit, as safelights do.
    """

    def __init__(
        self,
        settings: SimulatorSettings | None = None,
        *,
        lamp: str = "lamp",
        lit: Mapping[str, bool] | None = None,
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
        self._relay = relay_of(s, random.Random(f"{s.seed} relay"), supply.phase_ns)
        self._slips = random.Random(f"{s.seed} slips")
        self._lit = dict.fromkeys(s.safelights, True) | dict(lit or {})
        self._safelight_lux = self._lux_of_safelights()
        self._aperture = 1.0
        self._filter = NO_FILTER
        self._through = self.paper.unfiltered
        self._shades = Shades()
        self._picture = picture_of(s)
        self._sheet: Sheet | None = None
        self._sheets: list[DevelopedSheet] = []
        self._now_ns: int | None = None
        self._changed_ns = 0

    # -- the port ----------------------------------------------------------------------------

    def switch(self, now_ns: int, name: str, lit: bool) -> None:
        """An output was switched: the lamp's relay, or another light."""
        self._advance(now_ns)
        self.switched.append(Switched(now_ns, name, lit))
        self.operator.saw(now_ns, name, lit)
        if name == self._name:
            self._relay.command(now_ns, lit)
        else:
            self._lit[name] = lit
            self._safelight_lux = self._lux_of_safelights()

    def hear(self, now_ns: int, cue: Cue) -> None:
        """The printer hears a cue."""
        self.operator.hear(now_ns, cue)

    def next_ns(self) -> int | None:
        """When will the printer next do something?"""
        return self.operator.next_ns()

    def act(self, now_ns: int) -> Sequence[bool]:
        """Let the printer do what is due; gives the pedal's edges."""
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
        self.done.append(Done(at_ns, hands))
        match hands:
            case NewSheet():
                if self._sheet is not None and self._sheet.laid == hands:
                    return  # asked again for the sheet that lies there
                self._take_away()
                self._shades.put_down()  # both hands are needed
                s = self.settings
                self._sheet = Sheet(
                    hands, self.paper, self._picture, s.cell_mm, soft_mm=s.shade_soft_mm
                )
            case Move():
                slip_mm = self._slips.gauss(0.0, self.settings.placement_mm)
                if self._sheet is not None:
                    # nobody is so careless as to be a quarter of a patch off
                    self._sheet.move(hands, slip_mm=self._within_patch(hands, slip_mm))
            case Lens(aperture=aperture):
                self._aperture = self._light_through(aperture)
            case Filter():
                self._filter = counted_as(hands)
                self._through = self.paper.through(hands)
            case Shade():
                self._shades.take(hands)
                if self._sheet is not None:
                    self._sheet.shade(self._shades)

    def develop(self, now_ns: int) -> list[DevelopedSheet]:
        """Wait until the lamp is dark, take the sheet away, and give every developed sheet."""
        self._advance(now_ns)
        self._advance(now_ns + round(self._lamp.dark_after_s * 1e9))
        self._take_away()
        return list(self._sheets)

    # -- inside ------------------------------------------------------------------------------

    def _advance(self, to_ns: int) -> None:
        if self._now_ns is None:
            self._now_ns = to_ns
            self._lamp.advance(to_ns)
        while (change := self._relay.next_change(to_ns)) is not None:
            at_ns, closed = change
            self._shine(max(at_ns, self._now_ns))
            self._lamp.switch(self._now_ns, powered=closed)
            self._changed_ns = self._now_ns
        self._shine(max(to_ns, self._now_ns))

    def _shine(self, to_ns: int) -> None:
        assert self._now_ns is not None
        while self._now_ns < to_ns:
            next_ns = to_ns
            if not self.paper.linear:
                close = self._now_ns - self._changed_ns < _CLOSE_FOR_NS
                next_ns = min(to_ns, self._now_ns + (_CLOSE_NS if close else _FAR_NS))
            lamp_s = self._lamp.advance(next_ns) * self._aperture
            if self._sheet is not None:
                passed_s = (next_ns - self._now_ns) / 1e9
                self._sheet.expose(
                    passed_s,
                    lamp_s,
                    self._safelight_lux,
                    through=self._through,
                    name=self._filter,
                )
            self._now_ns = next_ns

    def _take_away(self) -> None:
        if self._sheet is not None:
            self._sheet.uncover()
            self._sheet.expose(self.settings.carried_s, 0.0, self._safelight_lux)
            self._sheets.append(self._sheet.develop())
            self._sheet = None

    def _lux_of_safelights(self) -> float:
        return sum(lux for name, lux in self.settings.safelights.items() if self._lit[name])

    def _light_through(self, aperture: str) -> float:
        """Give the light that a lens setting lets through, against the working aperture."""
        s = self.settings
        if aperture == "capped":
            return 0.0
        if aperture == "open":
            number = s.widest_aperture
        else:
            try:
                number = float(aperture.removeprefix("f/"))
            except ValueError:
                number = s.working_aperture  # "working", and words that name no number
            if not 0.5 < number < 1000.0:
                number = s.working_aperture
        return (_exact(s.working_aperture) / _exact(number)) ** 2

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


def _exact(engraved: float) -> float:
    """Give the f-number that a lens really has: engraved ones are rounded powers of root 2."""
    return float(2.0 ** (round(4.0 * math.log2(engraved)) / 4.0))
