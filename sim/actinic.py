"""What the colours of a room's lights are to paper: where its sensitivity ends, and filters begin.

Safelights live on the tails of both, so the grid goes on into deep red here, and the paper's dye
has a tail of its own: the bell of ``sim.variable`` is right about its middle, where the
enlarger's light is, and would see far too much amber. (Enlarging filters were found with the
bell, so it stays there; of an opal bulb's light the two differ by a few per cent.)

**From memory of published wedge spectrograms**, none re-read: a sensitising dye's edge falls by
a decade in about 10 nm, and after some decades more slowly, for sensitivity does not end abruptly
(trade-facts section 13; its 560-580 nm for variable contrast and 500 nm for graded paper are the
wavelengths where a printer would say that it ends). Lights are smooth curves of the usual
shapes, made here and measured on nothing.
"""

from __future__ import annotations

import numpy as np

from sim.room_settings import LightKind, LightSettings
from sim.settings import PaperKind, PaperSettings, SimulatorSettings
from sim.spectra import REFERENCE_K, glow, hump, lamp_spectrum, per_lux, white_led
from sim.tungsten import Floats
from sim.variable import dyed, halide

NM: Floats = np.arange(380.0, 741.0, 2.0)

# The dye's tail: from here a decade in 10 nm, and after 600 nm a decade in 25 nm.
_TAIL_NM, _SLOW_NM = 560.0, 600.0
_STEEP_NM, _SLOWLY_NM = 10.0, 25.0
# Halide's own end is a decade in 18 nm by its curve; it is not let below this (a guess).
_LEAST = 1e-9

_BULB_K = 2600.0  # a small household bulb
# Where a filter passes half, over how many nm that grows e-fold, and what it passes at all others.
_FILTERS = {
    LightKind.RED: (620.0, 3.5, 1e-6),
    LightKind.AMBER: (598.0, 3.5, 1e-5),
    LightKind.LIGHT_AMBER: (591.0, 3.8, 3e-5),
}


def sensitivity(paper: PaperSettings) -> Floats:
    """Give what each part of an emulsion sees, a row for each, over ``NM``; graded: blue only."""
    blue = np.maximum(halide(NM), _LEAST)
    if paper.kind is PaperKind.GRADED:
        return blue[None, :]
    sees: Floats = blue + np.array(paper.part_green)[:, None] * _dye()
    return sees


def spectrum(light: LightSettings, settings: SimulatorSettings) -> Floats:
    """Give one lux of a light, over ``NM``; a faded filter lets white light of its bulb by."""
    clean = _clean(light.kind, settings)
    white = glow(_BULB_K, NM)
    mixed: Floats = (1.0 - light.faded) * clean + light.faded * white
    return mixed


def actinic(light: LightSettings, settings: SimulatorSettings) -> Floats:
    """Give what one lux of a light is to each part of the paper.

    In lux of the light that the paper's speed is stated for, as its parts see that on the
    average: so it adds to what the enlarger gives.
    """
    sees = sensitivity(settings.paper)
    shares = np.array(settings.paper.part_shares if len(sees) > 1 else (1.0,))
    reference = float((sees * glow(REFERENCE_K, NM)).sum(axis=1) @ (shares / shares.sum()))
    result: Floats = (sees * spectrum(light, settings)).sum(axis=1) / reference
    return result


def _dye() -> Floats:
    decades = (np.minimum(NM, _SLOW_NM) - _TAIL_NM) / _STEEP_NM
    decades = decades + np.maximum(NM - _SLOW_NM, 0.0) / _SLOWLY_NM
    edge = float(dyed(np.array([_TAIL_NM]))[0])
    seen: Floats = np.where(NM <= _TAIL_NM, dyed(NM), edge * 10.0**-decades)
    return seen


def _clean(kind: LightKind, settings: SimulatorSettings) -> Floats:
    match kind:
        case LightKind.DEEP_RED:
            return per_lux(hump(660.0, 9.0, 8.0, NM), NM)
        case LightKind.DIGITS:
            return per_lux(hump(630.0, 8.0, 7.0, NM), NM)
        case LightKind.RED | LightKind.AMBER | LightKind.LIGHT_AMBER:
            half_nm, e_fold_nm, rest = _FILTERS[kind]
            passed = rest + 1.0 / (1.0 + np.exp((half_nm - NM) / e_fold_nm))
            return per_lux(glow(_BULB_K, NM) * passed, NM)
        case LightKind.WHITE:
            return per_lux(np.ones_like(NM), NM)  # as much in the blue as elsewhere
        case LightKind.SCREEN:
            return white_led(NM)
        case LightKind.LEAK:
            return lamp_spectrum(settings, NM)
