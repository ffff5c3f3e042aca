"""``dryside rig sensors``, ``rig counters`` and ``lag sensor``."""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import msgspec

from controller.enlarger.counters import Count, Life, Part, reminders
from controller.enlarger.lag_by_sensor import Lit, Seen, fit, plan_lag_by_sensor, with_gaps
from controller.errors import BadInput, quoted
from controller.ports import PortFault, Quantity, Reading
from controller.rig.keep import keep_seen_lamp
from controller.rig.lights import around
from drivers import counters_file
from drivers.found import open_sensor
from drivers.places import data_folder, run_folder
from ui import show
from ui.unit import Unit, new_run, open_book, unit_for

if TYPE_CHECKING:
    from controller.exposing.told import Run
    from controller.rig.sensors import SensorAt

AFTERGLOW_S = 2.5


class SensorRow(msgspec.Struct, frozen=True):
    """A sensor and what it reads now; ``fault`` says why it reads nothing."""

    name: str
    driver: str
    purpose: str
    quantity: str | None = None
    value: float | None = None
    unit: str | None = None
    saturated: bool = False
    fault: str = ""


def show_sensors(rig: str | None, settings: Sequence[str], *, json_: bool) -> None:
    """Read every sensor once."""
    unit = unit_for(rig, settings)
    rows = [_read(unit, sensor) for sensor in unit.rig.sensor]
    if json_:
        show.as_json(rows)
        return
    if not rows:
        print("the rig has no [[sensor]]")
    for row in rows:
        show.cut(f"{row.name:12} {row.purpose:16} {row.fault or _said(row)}")


def _read(unit: Unit, sensor: SensorAt) -> SensorRow:
    try:
        opened = open_sensor(unit.rig, sensor, run_folder())
        try:
            reading = opened.read()
        finally:
            opened.close()
    except PortFault as fault:
        return SensorRow(sensor.name, sensor.driver, sensor.purpose, fault=str(fault))
    return SensorRow(
        sensor.name,
        sensor.driver,
        sensor.purpose,
        reading.quantity.value,
        reading.value,
        reading.quantity.unit,
        reading.saturated,
    )


def _said(row: SensorRow) -> str:
    if row.quantity == Quantity.LIGHT.value:
        return "light" if row.value else "no light"
    digits = 2 if row.quantity == Quantity.DENSITY.value else 1
    most = "at least " if row.saturated else ""
    return f"{most}{row.value:.{digits}f} {row.unit}".rstrip()


# --- counters -------------------------------------------------------------------------------


class CounterRow(msgspec.Struct, frozen=True):
    """What an output has done, and what its data sheets promise."""

    output: str
    hours: float
    longest_s: float
    operations: int
    bulb_since: str
    relay_since: str
    life_hours: float | None
    life_operations: int | None


def show_counters(rig: str | None, settings: Sequence[str], *, json_: bool) -> None:
    """Show hours and operations of every output, and what is near its end."""
    unit = unit_for(rig, settings)
    lives = unit.rig.lives()
    counts = counters_file.read(data_folder(), unit.rig.name)
    rows = [_counter(name, counts.get(name, Count()), life) for name, life in lives.items()]
    told = reminders(counts, lives)
    if json_:
        show.as_json({"outputs": rows, "reminders": told})
        return
    print(f"{'output':14}{'hours':>16}{'longest':>10}{'operations':>20}  since")
    for row in rows:
        hours = _of(f"{row.hours:.1f}", row.life_hours)
        operations = _of(f"{row.operations:,}", row.life_operations)
        since = _since(row)
        print(f"{row.output:14}{hours:>16}{row.longest_s:>8.0f} s{operations:>20}  {since}")
    show.lines(told)
    if unit.imagined:
        show.note(
            "This rig is imagined: what it exposes in virtual time wears nothing out and is not "
            "counted."
        )


def _counter(name: str, count: Count, life: Life) -> CounterRow:
    return CounterRow(
        name,
        round(count.on_s / 3600, 4),
        round(count.longest_s, 3),
        count.operations,
        count.bulb_since,
        count.relay_since,
        life.hours,
        life.operations,
    )


def _of(done: str, life: float | None) -> str:
    return f"{done} of {life:,g}" if life else done


def _since(row: CounterRow) -> str:
    parts = [f"bulb {row.bulb_since}"] if row.bulb_since else []
    parts += [f"relay {row.relay_since}"] if row.relay_since else []
    return ", ".join(parts) or "the beginning"


def reset_counters(
    output: str, rig: str | None, settings: Sequence[str], *, bulb: bool, relay: bool
) -> None:
    """Begin anew for a bulb or a relay that was changed."""
    unit = unit_for(rig, settings)
    known = list(unit.rig.lives())
    if output not in known:
        raise BadInput(f"the rig switches no {quoted(output)}", "OUTPUT", " or ".join(known))
    asked = [part for part, wanted in ((Part.BULB, bulb), (Part.RELAY, relay)) if wanted]
    if not asked:
        raise BadInput("it is not said what was changed", "reset", "--bulb, or --relay, or both")
    counters_file.reset(data_folder(), unit.rig.name, output, asked, date.today().isoformat())
    print(f"{output}: counted anew from today, {' and '.join(part.value for part in asked)}")


# --- the lamp's lag -------------------------------------------------------------------------


def lag_by_sensor(
    name: str, rig: str | None, settings: Sequence[str], *, real_time: bool, json_: bool
) -> None:
    """Measure the lamp's numbers with a sensor, and keep them as a lag strip's are kept."""
    unit = unit_for(rig, settings)
    sensor = _sensor(unit, name)
    run = new_run(unit, plan_lag_by_sensor(around(unit.rig)), "{}")
    readings = _carried_out(unit, run, sensor, real_time=real_time)
    with open_book() as book:
        page = book.record(run.record_id)
        pulses = [p for e in page.exposures for p in e.pulses] if page else []
        seen = fit(readings, _lit([(p.on_ns, p.off_ns, p.cause) for p in pulses]))
        book.add_calibration(
            "lamp",
            cold_lag_s=seen.lamp.cold_lag_s,
            warm_gain_s2=seen.lamp.warm_gain_s2,
            uncertainty_s=seen.plus_minus_s,
            how=f"sensor {sensor.name}, {seen.pulses} pulses",
        )
    _tell(seen, sensor.name, keep_seen_lamp(unit.asked, sensor.name, seen), json_=json_)


def _lit(pulses: list[tuple[int, int, object]]) -> list[Lit]:
    return with_gaps(sorted(pulses, key=lambda pulse: pulse[0]))  # type: ignore[arg-type]


def _sensor(unit: Unit, name: str) -> SensorAt:
    known = [each for each in unit.rig.sensor if each.purpose == "lamp"]
    if not known:
        right = 'a [[sensor]] with purpose = "lamp"'
        raise BadInput("the rig has no sensor that sees the lamp", unit.asked, right)
    found = [each for each in known if each.name == name] if name else known[:1]
    if not found:
        right = " or ".join(each.name for each in known)
        raise BadInput(f"there is no sensor {quoted(name)} that sees the lamp", "NAME", right)
    return found[0]


def _carried_out(unit: Unit, run: Run, sensor: SensorAt, *, real_time: bool) -> list[Reading]:
    readings: list[Reading] = []
    if unit.imagined and not real_time:
        from ui.imagined import carry_out_imagined

        with open_book() as book:
            carry_out_imagined(unit, run, book, sensor=sensor.name, saw=readings.append)
        return readings
    from drivers.sensing import Sensing
    from ui.carry_out import carry_out

    sensing = Sensing(open_sensor(unit.rig, sensor, run_folder()), sensor.every_s, lambda: None)
    try:
        sensing.turn(on=True)
        carry_out(unit, run, real_time=real_time)
        time.sleep(AFTERGLOW_S)
        readings = sensing.readings()
        faults = sensing.faults()
    finally:
        sensing.close()
    if faults:
        raise PortFault(f"sensor {sensor.name!r}: {faults[0]}")
    return readings


def _tell(seen: Seen, sensor: str, where: str, *, json_: bool) -> None:
    if json_:
        show.as_json(
            {
                "cold_lag_s": seen.lamp.cold_lag_s,
                "warm_gain_s2": seen.lamp.warm_gain_s2,
                "plus_minus_s": seen.plus_minus_s,
                "full_light": seen.full,
                "dark": seen.dark,
                "tail_s": seen.tail_s,
                "pulses": seen.pulses,
                "rig": where,
            }
        )
        return
    print(
        f"cold lag {seen.lamp.cold_lag_s * 1000:.0f} ms, warm gain "
        f"{seen.lamp.warm_gain_s2:.4f} s² (warm-gain-s2), give or take "
        f"{seen.plus_minus_s * 1000:.1f} ms, from {seen.pulses} pulses"
    )
    print(
        f"{sensor} reads {seen.full:.4g} lx at full light and {seen.dark:.2g} lx of a cold lamp; "
        f"{seen.tail_s * 1000:.0f} ms of light fall after the lamp was put off"
    )
    print(
        f"kept in {where}; to let it end exposures: ends_exposures = true in [integration]"
        if where
        else "an imagined rig has no file to keep them in"
    )
