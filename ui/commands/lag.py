"""``dryside lag``: the lamp's two numbers, by a printed test."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from controller.enlarger.lag import (
    LagReading,
    LagStrip,
    finer,
    plan_lag,
    read_lag,
    reading_in,
    remark_of,
    with_partner,
)
from controller.enlarger.lamp import Calibration
from controller.errors import BadInput
from controller.events import Remark
from controller.fields import whole_asked
from controller.rig.keep import keep_lamp_numbers
from controller.rig.lights import around
from controller.stops import parse_time
from controller.strips.strip import LETTERS
from drivers.places import data_folder
from ui import show
from ui.carry_out import carry_out
from ui.developed import draw_lag, require_writable
from ui.unit import new_run, open_book, unit_for

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Page

FINE_S = 0.010  # a bracket that is narrow enough
SHORT_GAP_S = 1.0


class LagPatch(msgspec.Struct, frozen=True, omit_defaults=True):
    """One patch of a lag strip; densities are those of simulated paper."""

    letter: str
    assumed_lag_s: float
    long_density: float | None = None
    pulsed_density: float | None = None


def _ms(text: str, option: str) -> float:
    try:
        value = float(text.strip().removesuffix("ms"))
        if not -100 <= value <= 2000:
            raise ValueError
    except ValueError:
        right = "milliseconds from -100 to 2000, such as 120"
        raise BadInput(f"{text!r} is not a lag", option, right) from None
    return value / 1000


def lag_strip(
    from_ms: str,
    to_ms: str,
    patches: str,
    pulses: str,
    gap: str,
    *,
    rig: str | None,
    settings: Sequence[str],
    picture: str | None,
    json_: bool,
    real_time: bool,
    by_hand: bool,
) -> None:
    """Make a lag strip."""
    unit = unit_for(rig, settings)
    from_s, to_s = _ms(from_ms, "--from"), _ms(to_ms, "--to")
    if to_s <= from_s:
        raise BadInput(f"{to_ms} is not more than {from_ms}", "--to", "a lag above --from")
    gap_s = parse_time(gap, "--gap")
    if not 0.5 <= gap_s <= 30:
        raise BadInput(f"{gap!r} is out of range", "--gap", "0.5s to 30s")
    strip = LagStrip(
        from_lag_s=from_s,
        to_lag_s=to_s,
        patches=whole_asked(patches, "--patches", 3, 13),
        pulses=whole_asked(pulses, "--pulses", 12, 60),
        gap_s=gap_s,
        pulse_s=max(0.33, unit.rig.lamp.least_pulse_s),
    )
    if picture:
        require_writable(Path(picture))
    plan = plan_lag(strip, around(unit.rig))
    outcome = carry_out(
        unit,
        new_run(unit, plan, strip.model_dump_json()),
        real_time=real_time,
        by_hand=by_hand,
    )
    with open_book() as book:
        page = book.record(outcome.record_id)
    mark = page.record.marks[-1] if page and page.record.marks else ""
    sheet = outcome.sheets[-1] if outcome.sheets else None
    halves: dict[str, list[float]] = {}
    if sheet:
        for patch in sheet.patches:
            letter = LETTERS[patch.position // 2]
            halves.setdefault(letter, []).append(patch.density)
        target = Path(picture) if picture else data_folder() / "pictures" / f"{mark}-lag.png"
        target.parent.mkdir(parents=True, exist_ok=True)
        draw_lag(strip, sheet, mark, target)
    rows = [
        LagPatch(LETTERS[i], lag_s, *halves.get(LETTERS[i], ()))
        for i, lag_s in enumerate(strip.lags_s())
    ]
    if json_:
        show.as_json({"record_id": outcome.record_id, "mark": mark, "patches": rows})
        return
    print(f"{mark}: {plan.title}")
    for row in rows:
        line = f"{row.letter}  {row.assumed_lag_s * 1000:4.0f} ms"
        if row.long_density is not None:
            line += f"  long {row.long_density:.2f}  pulsed {row.pulsed_density:.2f}"
        print(line)
    if sheet:
        print(f"picture: {target}")
    print(
        "look where the pulsed half turns from lighter to darker, then:\n"
        "  dryside lag set --lighter (last lighter) --darker (first darker)"
    )


def lag_set(
    lighter: str,
    darker: str,
    record: str,
    cold_lag_s: float | None,
    warm_gain_s2: float,
    *,
    rig: str | None,
    json_: bool,
) -> None:
    """Read a lag strip, or take the numbers as they are given; keep them in book and rig file."""
    unit = unit_for(rig, ())
    with open_book() as book:
        if cold_lag_s is not None:
            if not (-0.1 <= cold_lag_s <= 2 and 0 <= warm_gain_s2 <= 2):
                right = "--cold-lag-s from -0.1 to 2 and --warm-gain-s2 from 0 to 2"
                raise BadInput("these numbers are no lamp's", "lag set", right)
            numbers, strip, reading = Calibration(cold_lag_s, warm_gain_s2), None, None
            how = "entered by hand"
        else:
            if not (lighter and darker):
                right = "--lighter C --darker E, or --cold-lag-s 0.12"
                raise BadInput("both patches are needed", "lag set", right)
            page = _lag_page(book, record)
            strip = LagStrip.model_validate_json(page.record.spec)
            reading = read_lag(strip, lighter.upper(), darker.upper())
            numbers = _with_partner(
                book, page.record.record_id, reading, unit.rig.lamp.warm_gain_s2
            )
            text = remark_of(lighter.upper(), darker.upper())
            book.write(Remark(page.record.record_id, text))
            how = f"lag strip {page.record.marks[-1] if page.record.marks else ''}, {text}"
        plus_minus_s = reading.plus_minus_s if reading else None
        book.add_calibration(
            "lamp",
            cold_lag_s=numbers.cold_lag_s,
            warm_gain_s2=numbers.warm_gain_s2,
            uncertainty_s=plus_minus_s,
            how=how,
        )
    where = keep_lamp_numbers(unit.asked, numbers)
    if json_:
        show.as_json(
            {
                "cold_lag_s": numbers.cold_lag_s,
                "warm_gain_s2": numbers.warm_gain_s2,
                "plus_minus_s": plus_minus_s,
                "rig": where,
            }
        )
        return
    about = f", give or take {plus_minus_s * 1000:.0f} ms" if plus_minus_s else ""
    print(
        f"cold lag {numbers.cold_lag_s * 1000:.0f} ms, "
        f"warm gain {numbers.warm_gain_s2:.4f} s² (warm-gain-s2){about}"
    )
    print(
        f"kept in {where}"
        if where
        else "an imagined rig has no file to keep them in; for one run: "
        f"--set lamp.cold_lag_s={numbers.cold_lag_s:.4f} "
        f"--set lamp.warm_gain_s2={numbers.warm_gain_s2:.5f}"
    )
    if strip and reading:
        _what_next(strip, reading, numbers)


def _lag_page(book: Book, key: str) -> Page:
    key = key or next((r.record_id for r in book.records(1, "lag strip")), "")
    page = book.record(key) if key else None
    if page is None or page.record.kind != "lag strip":
        raise BadInput("the book has no such lag strip", "--record", "dryside lag strip first")
    return page


def _with_partner(book: Book, record_id: str, reading: LagReading, known: float) -> Calibration:
    """Put a reading together with the newest one that had other gaps."""
    others = []
    for other in book.records(20, "lag strip"):
        page = book.record(other.record_id)
        if page and other.record_id != record_id:
            strip = LagStrip.model_validate_json(other.spec)
            read = reading_in(strip, (remark.text for remark in page.remarks))
            others += [read] if read else []
    return with_partner(reading, others, known)


def _what_next(strip: LagStrip, reading: LagReading, numbers: Calibration) -> None:
    if reading.plus_minus_s > FINE_S:
        second = finer(strip, reading)
        print(
            f"finer: dryside lag strip --from {second.from_lag_s * 1000:.0f} "
            f"--to {second.to_lag_s * 1000:.0f} --pulses {second.pulses} --gap {second.gap_s:g}s"
        )
    elif numbers.warm_gain_s2 == 0 and strip.gap_s > SHORT_GAP_S:
        print(f"for the warm gain: dryside lag strip --gap {SHORT_GAP_S:g}s, and read it too")
