"""Sheets under the lights of an imagined room, for the tests."""

from __future__ import annotations

from controller.ports import Hands, Move, NewSheet
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.world import ImaginedWorld

S = 1_000_000_000
DARK_S = 3.0  # after the last moment the world waits until the lamp is dark; then it develops


def light(kind: str = "amber", lux: float = 1.0, at=(0.0, 0.0, 1.0), **more) -> dict:
    return {"kind": kind, "lux_at_1m": lux, "at_m": at, **more}


def room(lights: dict | None = None, **fields) -> SimulatorSettings:
    """Give a room with still hands, one even tone, and variable-contrast paper by default."""
    usual = {
        "relay": "ideal",
        "placement_mm": 0.0,
        "tones": (0.9,),
        "paper": {"kind": "variable"},
        "cell_mm": 2.0,
        "lights": lights or {},
    }
    return SimulatorSettings.model_validate(usual | fields)


def lain(
    settings: SimulatorSettings,
    seconds: float,
    *,
    flash_s: float = 0.0,
    first: bool = True,
    size_mm: tuple[float, float] = (20.0, 20.0),
    jobs: tuple[Hands, ...] = (),
    off: tuple[str, ...] = (),
) -> DevelopedSheet:
    """Let a sheet lie under the room's lights; ``flash_s`` of the lamp ``first`` or at the end.

    Every light in ``off`` is out but for those seconds; the last 3 s in the dark are counted in.
    """
    world = ImaginedWorld(settings, lit=dict.fromkeys(off, False))
    world.do(0, NewSheet("K1", *size_mm))
    for job in jobs:
        world.do(0, job)
    now_s = 10.0

    def flash() -> None:
        nonlocal now_s
        if flash_s:
            world.switch(round(now_s * S), "lamp", True)
            world.switch(round((now_s + flash_s) * S), "lamp", False)
            now_s += flash_s + 30.0

    if first:
        flash()
    for name in off:
        world.switch(round(now_s * S), name, True)
    now_s += seconds
    for name in off:
        world.switch(round(now_s * S), name, False)
    now_s += 10.0
    if not first:
        flash()
    return world.develop(round(now_s * S))[0]


HALF_COVERED = Move("card", 1, 2)  # the left half of the sheet lies under a card
