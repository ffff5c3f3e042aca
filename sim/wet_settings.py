"""The ``[simulator.wet]`` table: trays of the imagined room, and what each sheet got in them.

Without the table every sheet gets a fresh, full process. Light to read in: no numpy.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sim.table import Table

Seconds = Annotated[float, Field(ge=0, le=100_000)]
Celsius = Annotated[float, Field(ge=1, le=45)]


class WetTimes(Table):
    """How long one sheet lay in each tray; none is as long as the tray wants when fresh."""

    developer_s: Seconds | None = Field(None, description="in the developer, draining included")
    fixer_s: Seconds | None = Field(None, description="in the fixer, all of its baths together")


class WetSettings(WetTimes):
    """Developer and fixer: how much there is, how warm, how much went through them.

    Full times, capacities and Q10 are common practice for fibre paper (trade-facts sections 9 and
    10); none is a maker's figure.
    """

    developer_full_s: float = Field(
        120.0, gt=0, le=3600, description="time to completion, fresh and at 20 C"
    )
    developer_c: Celsius = Field(20.0, description="temperature of the developer")
    developer_q10: float = Field(
        2.5, ge=1, le=5, description="by how much 10 C quicken the developer"
    )
    developer_litres: float = Field(1.0, gt=0, le=1000, description="developer in the tray")
    developer_used_m2: float = Field(
        0.0, ge=0, le=1000, description="paper that had gone through the developer before"
    )
    developer_capacity_m2_per_l: float = Field(
        1.9, gt=0, le=100, description="paper after which the developer takes half as long again"
    )
    fixer_full_s: float = Field(120.0, gt=0, le=7200, description="time to fix, fresh and at 20 C")
    fixer_c: Celsius = Field(20.0, description="temperature of the fixer")
    fixer_litres: float = Field(1.0, gt=0, le=1000, description="fixer in the tray")
    fixer_used_m2: float = Field(
        0.0, ge=0, le=1000, description="paper that had gone through the fixer before"
    )
    fixer_capacity_m2_per_l: float = Field(
        0.5, gt=0, le=100, description="paper after which the fixer takes twice as long"
    )
    toned: bool = Field(False, description="in selenium afterwards, which shows what was not fixed")
    marks: dict[str, WetTimes] = Field(
        default_factory=dict, description="times of single sheets, by their marks"
    )
