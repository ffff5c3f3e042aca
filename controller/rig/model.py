"""The rig: what is wired to what, as ``rig.toml`` says it.

Every table forbids keys that it does not know, and every field says what it means. What no
single field can hold (two lights on one line, no safelight that burns when all fails) is in
``controller.rig.rules``; reading the file and explaining faults is in ``controller.rig.file``.
"""

from __future__ import annotations

import hashlib
from typing import Any, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from controller.book.entries import Judged
from controller.enlarger.counters import Life
from controller.enlarger.integration import SeenLamp
from controller.enlarger.lamp import Calibration, LampLimits, ns
from controller.errors import BadInput
from controller.exposing.foot import FootTimes
from controller.keeper import OutputRule
from controller.ports import Line
from controller.rig.inputs import BoxSwitch, PedalAt
from controller.rig.rules import ON_GPIO, SIMULATOR, contradictions
from controller.rig.sensors import Integration, SensorAt
from controller.rig.table import Address, Addressed, Contact, Name, Table, Text
from controller.rig.talk import TalkingFolder
from controller.rig.wet import ProcessAt, SpokenNotes, TraysAt
from controller.trays.clock import WetTimes
from controller.trays.process import PROCESSES, Process, process_named
from controller.trays.side import Chosen, WetSide
from controller.written import RIGHT_IS

Active = Literal["high", "low"]
OnOff = Literal["on", "off"]
Through = Literal["relay", "solid-state", "mosfet"]

LAMP = "lamp"  # the name of the enlarger's output


_WHICH_LINE = (
    "the line that switches it, in its driver's own way: a GPIO number, such as 17 (not the "
    "number of the pin on the header), a coil or a path"
)


class _Relay(Addressed):
    # how light follows from the line's level

    active: Active = Field(
        "high", description='the level that energises the relay: "high" or "low"'
    )
    contact: Contact = Field(
        "normally-open",
        description='"normally-open": dark while the coil is not energised; "normally-closed": '
        "it burns then",
    )

    life_hours: float | None = Field(
        None,
        gt=0,
        le=1e6,
        description="how long its bulb lives, in hours, by its data sheet; dryside rig counters "
        "reminds you",
    )
    life_operations: int | None = Field(
        None,
        gt=0,
        le=10**9,
        description="how often its relay may be switched on and off under such a load, by its "
        "data sheet",
    )

    switch: Through = Field(
        "relay",
        description='what the line switches it by, for the drawing (dryside rig draw): "relay", '
        '"solid-state" (a relay without moving parts) or "mosfet" (a light on extra-low voltage, '
        "direct current)",
    )

    def _line(self, name: str, address: int | str) -> Line:
        return Line(name, address, self.active == "low", self.contact == "normally-closed")


class Lamp(_Relay):
    """The enlarger's lamp: how it is switched, and how it turns on-time into dose."""

    address: Address = Field(description=_WHICH_LINE)
    driver: Text = Field(
        description='the driver of the board that holds every output: "gpio", "modbus", "sim", or '
        "one that another package registers"
    )
    cold_lag_s: float = Field(
        0.0,
        ge=-0.1,
        le=2,
        description="light that a cold lamp owes at each pulse, in seconds of full light; the "
        "lag strip finds it. Slightly below zero for an LED whose relay lets go slowly",
    )
    warm_gain_s2: float = Field(
        0.0,
        ge=0,
        le=2,
        description="by which a lamp that was off for only g seconds lags less: lag = cold lag - "
        "this / g",
    )
    least_pulse_s: float = Field(
        0.3, gt=0, le=10, description="least dose of one pulse that can be trusted, in seconds"
    )
    longest_on_s: float = Field(
        180.0,
        gt=0,
        le=3600,
        description="longest continuous on-time, in seconds, for the sake of negative and lamp",
    )
    rest_s: float = Field(
        0.0, ge=0, le=600, description="least time off between two pulses, in seconds"
    )
    warm_up_s: float = Field(
        0.0,
        ge=0,
        le=1800,
        description="how long it burns, in seconds, with the lens capped, before it is steady",
    )


class _Light(_Relay):
    """A light that is no enlarger lamp."""

    name: Name = Field(description="one word; unique among the outputs, and spoken as it stands")
    may_be_switched: bool = Field(
        True,
        description="false: the plan never switches it (a discharge lamp); it is still set at "
        "start and at stop where it has an address",
    )
    warm_up_s: float = Field(
        0.0, ge=0, le=3600, description="from switching on to steady light, in seconds"
    )
    afterglow_s: float = Field(
        0.0, ge=0, le=600, description="from switching off to dark, in seconds"
    )
    least_off_s: float = Field(
        0.0,
        ge=0,
        le=3600,
        description="how long it must stay off before it may be lit again, in seconds (discharge "
        "lamps do not restart while hot)",
    )
    at_start: OnOff = Field("off", description='"on" or "off" when the program starts')
    at_stop: OnOff | None = Field(
        None,
        description='"on" or "off" when the program ends; if not given, as it is when its coil '
        "is not energised",
    )


class Safelight(_Light):
    """A safelight. Without an address it burns by a plug of its own."""

    address: Address | None = Field(
        None,
        description=f"{_WHICH_LINE}; left out only where may_be_switched is false: it "
        "then burns by a plug of its own",
    )
    nominated: bool = Field(
        False,
        description="the one safelight that burns when all fails; its contact is normally closed",
    )
    at_start: OnOff = Field("on", description='"on" or "off" when the program starts')


class OtherLight(_Light):
    """A light that is neither the enlarger's nor a safelight."""

    address: Address = Field(description=_WHICH_LINE)
    kind: Literal["room", "viewing", "contact-frame"] = Field(
        description='"room" (white light), "viewing" (over the trays), or "contact-frame" (it '
        "exposes paper, so it is lit in bounded pulses only)"
    )
    longest_on_s: float = Field(
        180.0,
        gt=0,
        le=3600,
        description="longest continuous on-time of a contact frame's light, in seconds",
    )


class SounderAt(Addressed):
    """What can be heard. ``pin`` may be written for ``address``."""

    driver: Text = Field(
        "bell",
        description='"bell" (the terminal\'s), "buzzer" (sounds while powered), "piezo" (needs '
        'tones), "silent", or one that another package registers',
    )
    address: Address | None = Field(
        None, description="the line that a buzzer or piezo hangs on; a GPIO number, such as 12"
    )
    active: Active = Field(
        "high", description='the level that makes a buzzer sound, "high" or "low"'
    )
    speech: bool = Field(True, description="speak the prompts where espeak-ng is installed")


class Foot(Table):
    """The foot's times, all in seconds."""

    deaf_s: float = Field(
        1.0, ge=0, le=10, description="deaf for so long after each lamp-off and each prompt"
    )
    lead_in_s: float = Field(
        1.5, ge=0, le=30, description="from the tap to the light, for the column to settle"
    )
    long_press_s: float = Field(
        1.5, gt=0.3, le=10, description="down for so long is a long press, or abandons"
    )
    stuck_s: float = Field(
        5.0, gt=0.3, le=60, description="down for longer than this is a fault: lamp off"
    )
    choice_s: float = Field(2.0, gt=0, le=30, description="between two choices that are spoken")
    paused_reminder_s: float = Field(
        5.0, gt=0, le=600, description='how often "paused" is said again'
    )


class PaperCut(Table):
    """The sheet that small strips are cut from, across its longer side."""

    # 8 x 10 in gives ten strips: common practice, no source
    sheet_width_mm: float = Field(203.2, gt=0, le=3000, description="one side, in millimetres")
    sheet_height_mm: float = Field(254.0, gt=0, le=3000, description="the other, in millimetres")
    strips_per_sheet: int = Field(10, ge=1, le=100, description="strips that one sheet gives")


class Rig(Table):
    """A whole rig. Construction refuses what contradicts itself, too."""

    name: Text = Field("unnamed", description="what you call it; kept with every record")
    lamp: Lamp = Field(description="the enlarger's lamp")
    safelight: tuple[Safelight, ...] = Field(
        (), strict=False, description="the safelights, one [[safelight]] table each"
    )
    light: tuple[OtherLight, ...] = Field(
        (), strict=False, description="other lights, one [[light]] table each"
    )
    pedal: tuple[PedalAt, ...] = Field(
        (), strict=False, description="the pedals, one [[pedal]] table each"
    )
    box: BoxSwitch | None = Field(
        None, description="a switch on the paper box, in a table [box]; none if not given"
    )
    sensor: tuple[SensorAt, ...] = Field(
        (), strict=False, description="the sensors, one [[sensor]] table each"
    )
    integration: Integration | None = Field(
        None,
        description="a sensor that ends exposures, in a table [integration]; none if not given",
    )
    sounder: SounderAt = Field(default_factory=SounderAt, description="what can be heard")
    talk: TalkingFolder | None = Field(
        None, description="a talking book or music, in a table [talk]; none if not given"
    )
    notes: SpokenNotes | None = Field(
        None, description="notes spoken into a microphone, in a table [notes]; none if not given"
    )
    trays: TraysAt = Field(default_factory=TraysAt, description="the clock of the trays")
    process: tuple[ProcessAt, ...] = Field(
        (), strict=False, description="processes of your own, one [[process]] table each"
    )
    foot: Foot = Field(default_factory=Foot, description="the foot's times")
    paper: PaperCut = Field(default_factory=PaperCut, description="what strips are cut from")
    board: dict[str, dict[str, Any]] = Field(
        default_factory=dict,
        description="options handed to a driver as they are, one table each, such as [board.gpio]",
    )
    pace: int = Field(
        1,
        ge=1,
        le=30,
        description="how many times as fast the time of an imagined unit runs, before a live "
        "screen; a person is no faster",
    )
    simulator: dict[str, Any] = Field(
        default_factory=dict,
        description='the imagined room; it matters only where lamp.driver is "sim"',
    )

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> Rig:
        for fault in contradictions(self.model_dump()):
            raise PydanticCustomError(
                "contradiction",
                "{field}: {what}; right would be {right}",
                {"field": fault.field, "what": fault.what, "right": fault.right},
            )
        count_in_s = self.trays.count_in_s
        for own in self.process:
            first = own.step[0]
            if first.counts_from == "light" and (first.time_s or 0.0) <= first.drain_s + count_in_s:
                raise ValueError(
                    f"process {own.name!r}: {first.name} is over before it begins, since its sheet "
                    f"comes in {count_in_s:g} s after the light{RIGHT_IS}a time_s above "
                    f"{first.drain_s + count_in_s:g}"
                )
        if self.trays.process:
            try:
                process_named(self.trays.process, self.processes())
            except BadInput as bad:
                raise ValueError(f"trays.process: {bad.what}{RIGHT_IS}{bad.right}") from None
        return self

    def processes(self) -> dict[str, Process]:
        """Give the shipped processes, and those of this rig, by name."""
        return PROCESSES | {own.name: own.process() for own in self.process}

    def wet_side(self) -> WetSide:
        """Begin an evening's trays. Raises BadInput."""
        t = self.trays
        shares = bool(self.pedal) and not any(pedal.wet for pedal in self.pedal)
        return WetSide(
            Chosen(t.process, t.celsius, t.factor),
            self.processes(),
            shares_pedal=shares,
            times=WetTimes(count_in_s=t.count_in_s, apart_s=t.apart_s),
        )

    def judged_under(self, choice: str, judged: Judged) -> str:
        """Say which light a patch was judged under; empty where none is fixed."""
        light = self.trays.viewing_light
        return f"{choice} judged {judged.value} under {light}" if light else ""

    # -- outputs -----------------------------------------------------------------------------

    def lights(self) -> tuple[Safelight | OtherLight, ...]:
        """Give every light but the lamp."""
        return (*self.safelight, *self.light)

    def lines(self) -> list[Line]:
        """Give the line of every output that is switched, the lamp's first."""
        lines = [self.lamp._line(LAMP, self.lamp.address)]
        for light in self.lights():
            if light.address is not None:
                lines.append(light._line(light.name, light.address))
        return lines

    def rules(self) -> list[OutputRule]:
        """Give what the keeper must know of every output that is switched."""
        bounds = {LAMP: self.lamp.longest_on_s}
        bounds |= {each.name: each.longest_on_s for each in self.light if _exposes(each)}
        return [
            OutputRule(
                line.name,
                line.safe_lit,
                lamp=line.name in bounds,
                longest_ns=ns(bounds.get(line.name, 0.0)),
            )
            for line in self.lines()
        ]

    def lives(self) -> dict[str, Life]:
        """Give what the data sheets promise of every output that is switched."""
        outputs = {LAMP: self.lamp} | {e.name: e for e in self.lights() if e.address is not None}
        return {name: Life(e.life_hours, e.life_operations) for name, e in outputs.items()}

    def lights_at_start(self) -> dict[str, bool]:
        """Give which lights are to be lit when the program starts; no lamps."""
        return {light.name: light.at_start == "on" for light in self._switched()}

    def lights_at_stop(self) -> dict[str, bool]:
        """Give which lights are to be lit when the program ends; no lamps."""
        return {
            light.name: light.contact == "normally-closed"
            if light.at_stop is None
            else light.at_stop == "on"
            for light in self._switched()
        }

    def least_off_ns(self) -> dict[str, int]:
        """Give the lights that must rest before they burn again, and for how long."""
        return {
            light.name: ns(light.least_off_s) for light in self._switched() if light.least_off_s
        }

    def _switched(self) -> list[Safelight | OtherLight]:
        return [e for e in self.lights() if e.address is not None and not _exposes(e)]

    def nominated(self) -> Safelight | None:
        """Give the safelight that burns when all fails."""
        return next((each for each in self.safelight if each.nominated), None)

    # -- what drivers are told ---------------------------------------------------------------

    @property
    def imagined(self) -> bool:
        """Does the lamp burn in an imagined room only?"""
        return self.lamp.driver == SIMULATOR

    def driver_options(self, driver: str | None = None) -> dict[str, object]:
        """Give the ``[board]`` options of a driver; of the outputs' own, if none is named."""
        return dict(self.board.get(driver or self.lamp.driver, {}))

    def sounder_options(self) -> dict[str, object]:
        """Give what the sounder's driver is told.

        ``address`` (where there is one), ``active``, ``speech``, and the options of its board:
        for a buzzer or piezo those of ``[board.gpio]``, since it hangs on the same chip.
        """
        options = self.driver_options("gpio") if self.sounder.driver in ON_GPIO else {}
        options |= self.driver_options(self.sounder.driver)
        if self.sounder.address is not None:
            options["address"] = self.sounder.address
        return options | {"active": self.sounder.active, "speech": self.sounder.speech}

    # -- numbers for the core ----------------------------------------------------------------

    def calibration(self) -> Calibration:
        """Give the lamp's two numbers."""
        return Calibration(self.lamp.cold_lag_s, self.lamp.warm_gain_s2)

    def limits(self) -> LampLimits:
        """Give what may be asked of the lamp."""
        return LampLimits(
            least_pulse_s=self.lamp.least_pulse_s,
            longest_on_s=self.lamp.longest_on_s,
            rest_s=self.lamp.rest_s,
            warm_up_s=self.lamp.warm_up_s,
        )

    def seen_lamp(self) -> SeenLamp | None:
        """Give how the sensor sees the lamp that ends exposures; None where none does."""
        by = self.integration
        if by is None or not by.ends_exposures:
            return None
        return SeenLamp(
            by.full_light,
            by.dark,
            by.tail_s,
            limit=by.limit,
            least_s=by.least_s,
            longest_s=self.lamp.longest_on_s,
        )

    def lamp_sensor(self) -> SensorAt | None:
        """Give the sensor that ends exposures; None where none does."""
        by = self.integration
        if by is None or not by.ends_exposures:
            return None
        return next(each for each in self.sensor if each.name == by.sensor)

    def foot_times(self, pace: int = 1) -> FootTimes:
        """Give the foot's times, as a unit counts them whose time runs ``pace`` times as fast.

        A person is no faster there; the lead-in is the column's, not the foot's.
        """
        times = self.foot.model_dump()
        return FootTimes(**{k: v if k == "lead_in_s" else v * pace for k, v in times.items()})

    def digest(self) -> str:
        """Give a short text that differs where two rigs differ in anything."""
        return hashlib.sha256(self.model_dump_json().encode()).hexdigest()[:16]


def _exposes(light: Safelight | OtherLight) -> bool:
    return isinstance(light, OtherLight) and light.kind == "contact-frame"
