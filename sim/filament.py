"""A glowing filament as a heat balance: what goes in as current goes out as light and heat.

    mass c(T) dT/dt = V² R(T) / (R(T) + Rs)²  -  k A s e(T) T⁴  -  gas  -  leads

(s: Stefan and Boltzmann's constant; e: total emissivity; k: the free part of the surface A.)
Wire length and diameter follow from the rating: at the rated voltage and temperature the wire
must have the resistance that draws the rated power, and the surface that radiates it.

With steady supply the balance knows no clock, so every heating follows one curve and every
cooling another, entered wherever the temperature happens to be. Both are solved once; the light
over any interval is then a difference between two points of a curve.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import msgspec
import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sim.tungsten import AMBIENT_K, DENSITY_KG_M3, STEFAN_BOLTZMANN, Floats, tungsten

# Heat carried by gas: Langmuir's stagnant film, whose conductivity grows about as T^0.7.
GAS_POWER = 1.7


class Rating(msgspec.Struct, frozen=True):
    """A lamp as its box describes it, and three shares that its construction decides.

    ``free_surface``: the part of the wire's surface from which radiation gets out of the coil.
    ``gas_share``, ``lead_share``: parts of the rated power carried away by gas and by leads.
    ``series_ohm``: wiring and transformer; the supply is such that the lamp gets its voltage.
    """

    watts: float
    volts: float
    kelvin: float
    free_surface: float
    gas_share: float
    lead_share: float
    series_ohm: float = 0.0


class Wire(NamedTuple):
    """The geometry that follows from a rating."""

    length_m: float
    diameter_m: float
    mass_kg: float


class Curve(NamedTuple):
    """Temperature and light summed up along one heating or cooling."""

    seconds: Floats
    kelvin: Floats
    light_s: Floats  # light summed up since the start, in seconds of full light
    last_light: float
    rising: bool

    def light_at(self, at_s: float) -> float:
        """Sum the light from the start of the curve; beyond its end the light is steady."""
        end_s = float(self.seconds[-1])
        if at_s > end_s:
            return float(self.light_s[-1]) + (at_s - end_s) * self.last_light
        return float(np.interp(at_s, self.seconds, self.light_s))

    def kelvin_at(self, at_s: float) -> float:
        """Give the temperature at a time of the curve."""
        return float(np.interp(at_s, self.seconds, self.kelvin))

    def entered_at(self, kelvin: float) -> float:
        """Find the time at which the curve has this temperature (its nearest end outside it)."""
        if self.rising:
            return float(np.interp(kelvin, self.kelvin, self.seconds))
        return float(np.interp(kelvin, self.kelvin[::-1], self.seconds[::-1]))


def wire_of(rating: Rating) -> Wire:
    """Work out the wire that draws the rated power and radiates it at the rated temperature."""
    w = tungsten()
    resistivity = float(np.interp(rating.kelvin, w.kelvin, w.resistivity_ohm_m))
    emitted = float(np.interp(rating.kelvin, w.kelvin, w.emissivity * w.kelvin**4))
    absorbed = float(w.emissivity[0]) * AMBIENT_K**4
    watts_m2 = rating.free_surface * STEFAN_BOLTZMANN * (emitted - absorbed)
    radiated = rating.watts * (1.0 - rating.gas_share - rating.lead_share)
    ohm = rating.volts**2 / rating.watts
    # surface = pi d L and ohm = 4 rho L / (pi d^2): eliminate L
    diameter = (4.0 * resistivity * radiated / (math.pi**2 * ohm * watts_m2)) ** (1 / 3)
    length = ohm * math.pi * diameter**2 / (4.0 * resistivity)
    return Wire(length, diameter, DENSITY_KG_M3 * length * math.pi * diameter**2 / 4.0)


class Filament:
    """The heat balance of one lamp, with its light normalised to 1 when steady and rated."""

    def __init__(self, rating: Rating) -> None:
        w = tungsten()
        self.rating = rating
        self.wire = wire_of(rating)
        length, diameter, mass = self.wire
        self.kelvin = w.kelvin
        self.ohm = w.resistivity_ohm_m * 4.0 * length / (math.pi * diameter**2)
        surface = rating.free_surface * math.pi * diameter * length * STEFAN_BOLTZMANN
        radiated = surface * (w.emissivity * w.kelvin**4 - w.emissivity[0] * AMBIENT_K**4)
        gas = w.kelvin**GAS_POWER - AMBIENT_K**GAS_POWER
        gas_at_rated = rating.kelvin**GAS_POWER - AMBIENT_K**GAS_POWER
        leads = (w.kelvin - AMBIENT_K) / (rating.kelvin - AMBIENT_K)
        self.lost_w: Floats = radiated + rating.watts * (
            rating.gas_share * gas / gas_at_rated + rating.lead_share * leads
        )
        self.heat_j_k: Floats = mass * w.heat_capacity_j_kg_k
        self.light: Floats = w.actinic / np.interp(rating.kelvin, w.kelvin, w.actinic)
        rated_ohm = rating.volts**2 / rating.watts
        self.source_volts = rating.volts * (1.0 + rating.series_ohm / rated_ohm)

    def steady_kelvin(self, supply: float = 1.0) -> float:
        """Find the temperature at which ``supply`` (relative voltage) holds the filament."""
        excess = self._input_w(supply) - self.lost_w
        return float(brentq(lambda k: np.interp(k, self.kelvin, excess), 400.0, 3640.0))

    def light_of(self, kelvin: float) -> float:
        """Give the light of a temperature, in parts of full light."""
        return float(np.interp(kelvin, self.kelvin, self.light))

    def current_a(self, kelvin: float, supply: float = 1.0) -> float:
        """Give the current at a temperature."""
        ohm = float(np.interp(kelvin, self.kelvin, self.ohm))
        return supply * self.source_volts / (ohm + self.rating.series_ohm)

    def heating(self, supply: float = 1.0) -> Curve:
        """Solve the way from cold to steady."""
        rate = (self._input_w(supply) - self.lost_w) / self.heat_j_k
        return self._solve(rate, AMBIENT_K, self.steady_kelvin(supply), _HEATING_S)

    def cooling(self, from_kelvin: float) -> Curve:
        """Solve the way from ``from_kelvin`` back to cold."""
        return self._solve(-self.lost_w / self.heat_j_k, from_kelvin, AMBIENT_K, _COOLING_S)

    def _input_w(self, supply: float) -> Floats:
        volts = supply * self.source_volts
        watts: Floats = volts**2 * self.ohm / (self.ohm + self.rating.series_ohm) ** 2
        return watts

    def _solve(self, rate: Floats, start_k: float, end_k: float, times_s: Floats) -> Curve:
        def slopes(_t: float, y: Floats) -> tuple[float, float]:
            kelvin = float(y[0])
            return (
                float(np.interp(kelvin, self.kelvin, rate)),
                float(np.interp(kelvin, self.kelvin, self.light)),
            )

        solved = solve_ivp(
            slopes,
            (0.0, float(times_s[-1])),
            (start_k, 0.0),
            method="LSODA",
            t_eval=times_s,
            rtol=1e-8,
            atol=1e-7,
        )
        low, high = sorted((start_k, end_k))
        kelvin = np.clip(solved.y[0], low, high)
        # a curve is also read backwards, from temperature to time: it must never turn round
        rising = start_k < end_k
        kelvin = np.maximum.accumulate(kelvin) if rising else np.minimum.accumulate(kelvin)
        return Curve(times_s, kelvin, solved.y[1], self.light_of(end_k), rising)


def _times(fine_s: float, end_s: float) -> Floats:
    fine = np.arange(0.0, fine_s, 0.0005)
    return np.concatenate([fine, np.geomspace(fine_s, end_s, 400)])


_HEATING_S = _times(3.0, 30.0)
_COOLING_S = _times(3.0, 1800.0)
