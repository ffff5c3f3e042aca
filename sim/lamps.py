"""Enlarger lamps as they light and go out in time.

Light is counted in seconds of full light: 1 per second when the lamp is steady at its rated
supply, in the blue and green that paper sees.
"""

from __future__ import annotations

import math
import random
from functools import cache
from typing import Protocol

from sim.filament import Curve, Filament, Rating
from sim.settings import LampKind, SimulatorSettings
from sim.supply import Supply
from sim.tungsten import AMBIENT_K

# Ratings and temperatures are usual ones; the three shares are chosen so that the heat balance
# gives the published rise and fall of gas-filled bulbs (tests/outside/test_tungsten.py).
TUNGSTEN = Rating(150.0, 230.0, 2800.0, free_surface=0.75, gas_share=0.15, lead_share=0.02)
# series_ohm: a small transformer and its leads, about 3 % of the lamp's own resistance
HALOGEN = Rating(
    100.0, 12.0, 3300.0, free_surface=0.9, gas_share=0.10, lead_share=0.04, series_ohm=0.05
)

_STEP_NS = 500_000
_HIGHEST_SUPPLY = 1.17  # a little more than settings allow
_TABLE_MAX = 3300  # kelvins above ambient that the stepping tables may be asked for


class Lamp(Protocol):
    """A lamp in time. Calls come with times that never run backwards."""

    @property
    def dark_after_s(self) -> float:
        """After so long without power no light is left that paper could see."""

    def switch(self, now_ns: int, *, powered: bool) -> None:
        """Give it power, or take it away; ``advance`` to this moment comes first."""

    def advance(self, to_ns: int) -> float:
        """Let time pass; gives the light since the last call, in seconds of full light."""


class FilamentLamp:
    """A filament on a steady supply: moves along one curve up and one down."""

    dark_after_s = 3.0

    def __init__(self, rating: Rating, supply: float = 1.0) -> None:
        self._up, self._down = curves(rating, supply)
        self._curve = self._down
        self._at_s = self._down.entered_at(AMBIENT_K)
        self._light_s = self._curve.light_at(self._at_s)
        self._now_ns: int | None = None

    @property
    def kelvin(self) -> float:
        """The filament's temperature now."""
        return self._curve.kelvin_at(self._at_s)

    def switch(self, now_ns: int, *, powered: bool) -> None:
        """Change from one curve to the other at the temperature that the filament has."""
        self._now_ns = now_ns
        curve = self._up if powered else self._down
        if curve is not self._curve:
            self._at_s = curve.entered_at(self.kelvin)
            self._curve = curve
            self._light_s = curve.light_at(self._at_s)

    def advance(self, to_ns: int) -> float:
        """Move along the curve."""
        if self._now_ns is None:
            self._now_ns = to_ns
        self._at_s += (to_ns - self._now_ns) / 1e9
        self._now_ns = to_ns
        before_s, self._light_s = self._light_s, self._curve.light_at(self._at_s)
        return self._light_s - before_s


class SteppedLamp:
    """A filament on a supply that wanders or shows its half cycles: stepped, so slower.

    Classical Runge-Kutta in steps of half a millisecond while it has power. ``full`` is the
    steady light that counts as 1.
    """

    dark_after_s = 3.0

    def __init__(
        self, rating: Rating, supply: Supply, *, full: float = 1.0, start_kelvin: float = AMBIENT_K
    ) -> None:
        self._supply = supply
        self._rates = stepping_tables(rating)
        self._full = full
        self._down = curves(rating, _HIGHEST_SUPPLY)[1]
        self._kelvin = start_kelvin
        self._powered = False
        self._now_ns: int | None = None

    def switch(self, now_ns: int, *, powered: bool) -> None:
        """Give or take the power."""
        self._now_ns = now_ns
        self._powered = powered

    def advance(self, to_ns: int) -> float:
        """Step through the time since the last call."""
        now_ns = to_ns if self._now_ns is None else self._now_ns
        self._now_ns = to_ns
        if not self._powered:
            at_s = self._down.entered_at(self._kelvin)
            later_s = at_s + (to_ns - now_ns) / 1e9
            self._kelvin = self._down.kelvin_at(later_s)
            light_s = self._down.light_at(later_s) - self._down.light_at(at_s)
            return light_s / self._full
        light_s = 0.0
        while now_ns < to_ns:
            step_ns = min(_STEP_NS, to_ns - now_ns)
            light_s += self._step(now_ns, step_ns)
            now_ns += step_ns
        return light_s / self._full

    def _step(self, now_ns: int, step_ns: int) -> float:
        gain, loss, light = self._rates
        start = self._supply.mean_square(now_ns)
        middle = self._supply.mean_square(now_ns + step_ns // 2)
        end = self._supply.mean_square(now_ns + step_ns)
        h = step_ns / 1e9
        k0 = self._kelvin

        def slope(kelvin: float, square: float) -> float:
            return square * _look(gain, kelvin) - _look(loss, kelvin)

        k1 = slope(k0, start)
        k2 = slope(k0 + h / 2 * k1, middle)
        k3 = slope(k0 + h / 2 * k2, middle)
        k4 = slope(k0 + h * k3, end)
        half = k0 + h / 2 * (k1 + k2) / 2
        self._kelvin = k0 + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
        return h / 6 * (_look(light, k0) + 4 * _look(light, half) + _look(light, self._kelvin))


class LedHead:
    """Light-emitting diodes: a ramp at switch-on, and perhaps a glow that dies away."""

    def __init__(self, *, soft_start_s: float, afterglow: float, afterglow_s: float) -> None:
        self._ramp_s = soft_start_s
        self._glow = afterglow
        self._glow_s = afterglow_s
        self._level = 0.0
        self._powered = False
        self._now_ns: int | None = None

    @property
    def dark_after_s(self) -> float:
        """Ten time constants of the glow."""
        return 10.0 * self._glow_s if self._glow else 0.1

    def switch(self, now_ns: int, *, powered: bool) -> None:
        """Begin the ramp, or drop to the glow."""
        self._now_ns = now_ns
        if self._powered and not powered:
            self._level *= self._glow
        self._powered = powered

    def advance(self, to_ns: int) -> float:
        """Sum the ramp, the steady light or the glow."""
        passed_s = 0.0 if self._now_ns is None else (to_ns - self._now_ns) / 1e9
        self._now_ns = to_ns
        if not self._powered:
            before = self._level
            self._level *= math.exp(-passed_s / self._glow_s)
            return (before - self._level) * self._glow_s
        ramp_s = min(passed_s, (1.0 - self._level) * self._ramp_s)
        before = self._level
        self._level = min(1.0, before + ramp_s / self._ramp_s) if ramp_s else self._level
        if ramp_s < passed_s:
            self._level = 1.0
        return ramp_s * (before + self._level) / 2 + (passed_s - ramp_s)


def rating_of(settings: SimulatorSettings) -> Rating:
    """Give the filament's rating: the usual one of its kind, changed where settings say so."""
    usual = HALOGEN if settings.lamp is LampKind.HALOGEN else TUNGSTEN
    watts = settings.watts or usual.watts
    volts = settings.volts or usual.volts
    # a transformer is chosen for its lamp: its share of the resistance stays
    scale = (volts**2 / watts) / (usual.volts**2 / usual.watts)
    return Rating(
        watts,
        volts,
        settings.kelvin or usual.kelvin,
        free_surface=usual.free_surface,
        gas_share=usual.gas_share,
        lead_share=usual.lead_share,
        series_ohm=usual.series_ohm * scale,
    )


def lamp_of(settings: SimulatorSettings, supply: Supply) -> Lamp:
    """Make the lamp that the settings ask for."""
    if settings.lamp is LampKind.LED:
        return LedHead(
            soft_start_s=settings.soft_start_s,
            afterglow=settings.afterglow,
            afterglow_s=settings.afterglow_s,
        )
    rating = rating_of(settings)
    if supply.steady:
        return FilamentLamp(rating, supply.level)
    full = ripple_mean(rating, supply.mains_hz) if supply.ripple else 1.0
    return SteppedLamp(rating, supply, full=full)


@cache
def filament(rating: Rating) -> Filament:
    """Give the heat balance of a rating, worked out once."""
    return Filament(rating)


@cache
def curves(rating: Rating, supply: float) -> tuple[Curve, Curve]:
    """Give the heating from cold and the cooling from as hot as this supply makes it."""
    balance = filament(rating)
    return balance.heating(supply), balance.cooling(balance.steady_kelvin(supply))


@cache
def stepping_tables(rating: Rating) -> tuple[list[float], list[float], list[float]]:
    """Give K/s gained at rated supply, K/s lost, and light, for whole kelvins above ambient."""
    balance = filament(rating)
    volts, ohm = balance.source_volts, balance.ohm
    gain = volts**2 * ohm / (ohm + rating.series_ohm) ** 2 / balance.heat_j_k
    loss = balance.lost_w / balance.heat_j_k
    return gain.tolist(), loss.tolist(), balance.light.tolist()


@cache
def ripple_mean(rating: Rating, mains_hz: float) -> float:
    """Give the mean light at rated supply with its half cycles, against the same without.

    The half cycles swing the temperature about its mean, and light grows faster than it falls.
    """
    supply = Supply(SimulatorSettings(ripple=True, mains_hz=mains_hz), random.Random(0))
    lamp = SteppedLamp(rating, supply, start_kelvin=rating.kelvin)
    lamp.switch(0, powered=True)
    settled_ns, end_ns = round(60e9 / mains_hz), round(80e9 / mains_hz)
    lamp.advance(settled_ns)
    return lamp.advance(end_ns) / ((end_ns - settled_ns) / 1e9)


def _look(table: list[float], kelvin: float) -> float:
    at = kelvin - AMBIENT_K
    at = 0.0 if at < 0.0 else min(at, _TABLE_MAX)
    whole = int(at)
    return table[whole] + (table[whole + 1] - table[whole]) * (at - whole)
