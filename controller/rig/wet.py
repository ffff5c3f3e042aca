"""The wet side in a rig file: trays, processes of one's own, spoken notes."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from controller.rig.table import Table, Text
from controller.trays.process import FACTORS, CountsFrom, Process, Step
from controller.written import RIGHT_IS


class SpokenNotes(Table):
    """Notes that are spoken while the wet pedal is held, and typed when the evening closes."""

    microphone: str = Field("", description="the sound device by its name; empty: the system's")
    longest_s: float = Field(60.0, gt=1, le=600, description="a note is cut off after so long")


class TraysAt(Table):
    """What sheets go through after the light, until something else is chosen in the evening."""

    process: str = Field(
        "",
        description="fibre, fibre-plain, two-bath, two-bath-plain, resin-coated, strip, or one of "
        "your own [[process]] tables; empty: the trays are not counted",
    )
    celsius: float = Field(20.0, ge=15, le=35, description="temperature of developer and fixer")
    factor: float | None = Field(
        None,
        ge=FACTORS[0],
        le=FACTORS[1],
        description="develop by the first image, times this; none: as the process says",
    )
    count_in_s: float = Field(
        10.0, ge=0, le=120, description="from the last light to the first tray"
    )
    apart_s: float = Field(8.0, ge=0, le=60, description="time that two moves of a hand need")
    viewing_light: str = Field(
        "",
        max_length=80,
        description="the fixed light that wet sheets are judged under, such as "
        '"40 W at 1.2 m over the sink"; it is noted with each judgement',
    )


class StepAt(Table):
    """A tray of a process of one's own."""

    name: Text = Field(description="as it is spoken: developer, stop, fixer")
    time_s: float | None = Field(
        None, gt=0, le=14_400, description="all of its time at 20 C; none: the sheet stays there"
    )
    most_s: float | None = Field(
        None,
        gt=0,
        le=14_400,
        description="with it the time is a range: lifted from time_s on, late only after most_s",
    )
    counts_from: CountsFrom = Field(
        "in",
        description='what starts its time: "in", the sheet coming in; "lift", the lift before, '
        'its draining included; "light", the last light, in the first step',
    )
    drain_s: float = Field(0.0, ge=0, le=120, description="of that, draining over the tray")
    q10: float = Field(
        1.0, ge=1, le=5, description="by how much 10 C quicken it; 1: time does not change"
    )
    least_s: float = Field(0.0, ge=0, le=14_400, description="never less, however warm")
    holds: int | None = Field(
        None, ge=1, le=100, description="sheets it holds at once; none: as many as come"
    )
    factor: float | None = Field(
        None,
        ge=FACTORS[0],
        le=FACTORS[1],
        description="of the developer: its time is so many times that to the first image, when "
        "that is tapped; time_s holds otherwise",
    )
    agitation: str = Field(
        "", max_length=80, description="how it is moved, in words, such as rocked all the time"
    )

    @model_validator(mode="after")
    def _drains_within(self) -> StepAt:
        if self.time_s is None:
            if self.most_s is not None or self.counts_from != "in":
                key = "most_s" if self.most_s is not None else "counts_from"
                raise ValueError(f"{key} stands where there is no time_s{RIGHT_IS}time_s with it")
            return self
        if self.drain_s >= self.time_s:
            what = f"drain_s = {self.drain_s:g} is not within time_s"
            raise ValueError(f"{what}{RIGHT_IS}less than {self.time_s:g}")
        if self.most_s is not None and self.most_s < self.time_s:
            what = f"most_s = {self.most_s:g} is below time_s"
            raise ValueError(f"{what}{RIGHT_IS}at least {self.time_s:g}")
        return self


class ProcessAt(Table):
    """A process of one's own."""

    name: Text = Field(description='what it is called, such as "warm fibre"')
    base: Literal["fibre", "resin-coated"] = Field(
        "fibre", description="what its paper is coated on: fibre or resin-coated"
    )
    step: tuple[StepAt, ...] = Field(
        strict=False, min_length=2, description="its trays, one [[process.step]] table each"
    )

    @model_validator(mode="after")
    def _ends(self) -> ProcessAt:
        *timed, last = self.step
        if last.time_s is not None or any(step.time_s is None for step in timed):
            raise ValueError(
                f"a step has a time_s, or lacks it, in the wrong place{RIGHT_IS}"
                "a time_s in every step but the last, where sheets stay (holding bath, wash)"
            )
        if any(step.factor is not None for step in self.step[1:]):
            raise ValueError(
                f"a factor stands in a step behind the first{RIGHT_IS}a factor in the developer"
            )
        for before, step in zip((None, *self.step), timed, strict=False):
            _counts(step, before)
        if last.holds is not None:
            raise ValueError(
                f"holds = {last.holds} stands in the last step, of which nobody hears when a sheet "
                f"leaves it{RIGHT_IS}holds in the steps before it"
            )
        return self

    def process(self) -> Process:
        """Give it as the clock needs it."""
        steps = (
            Step(
                s.name,
                s.time_s,
                s.drain_s,
                s.q10,
                s.least_s,
                s.holds,
                s.factor,
                s.agitation,
                s.most_s,
                s.counts_from,
            )
            for s in self.step
        )
        return Process(self.name, tuple(steps), self.base)


def _counts(step: StepAt, before: StepAt | None) -> None:
    """Raise ValueError where a step's time cannot count from what it says."""
    if step.counts_from == "lift":
        if before is None:
            what = f'{step.name} counts from "lift", and none is before it'
            raise ValueError(f'{what}{RIGHT_IS}"in" or "light" in the first step')
        gone_s = before.drain_s
        if step.time_s is not None and step.time_s - step.drain_s <= gone_s:
            what = f"{step.name} is over before it begins: {gone_s:g} s drain away before it"
            raise ValueError(f"{what}{RIGHT_IS}a time_s above {gone_s + step.drain_s:g}")
    if step.counts_from == "light" and before is not None:
        what = f'{step.name} counts from "light", and another step is before it'
        raise ValueError(f'{what}{RIGHT_IS}"in" or "lift"; "light" in the first step')
