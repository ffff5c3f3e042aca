"""Negatives and prints, told in lines. Pure."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from controller.book.print_entries import Negative, PrintEntry
from controller.book.whole import WholePrint
from controller.chemistry.words import span
from controller.events import Fate
from controller.numbered import numbered
from controller.score.report import score_lines
from controller.stops import format_time


def negative_lines(found: Negative) -> list[str]:
    """Tell of a negative."""
    about = [("film", found.film), ("format", found.format), ("exposed", found.exposed_on)]
    about += [("lies in", found.sleeve), ("tags", ", ".join(found.tags)), ("", found.remark)]
    return [f"negative {found.name}", *(f"  {k} {v}".rstrip() for k, v in about if v)]


def print_line(one: PrintEntry, when: Callable[[datetime], str]) -> str:
    """Tell a print in one line of a list."""
    stars = "*" * one.rating if one.rating else ""
    places = [place.written for place in one.editions]
    if one.fate is Fate.SPOILED:
        places.append("spoiled since")
    about = ", ".join(filter(None, [one.title, one.negative, one.paper, *places, one.went]))
    return f"{when(one.made_at)}  {one.mark}  #{one.print_id:<5}  {stars:5}  {about}"


def whole_lines(whole: WholePrint, when: Callable[[datetime], str]) -> list[str]:
    """Tell all of one print: what it is, what it was made by, what was found out since."""
    one = whole.print
    lines = [f"{one.mark}  #{one.print_id}  {one.title}, made {when(one.made_at)}"]
    lines += negative_lines(whole.negative) if whole.negative.name else []
    about = [
        ("signed", ", ".join(f"{e.written} of {e.edition}" for e in one.editions)),
        ("rated", f"{one.rating} of 5" if one.rating else ""),
        ("remark", one.remark),
        ("dry", one.dry_note),
        ("went to", one.went),
        ("developer at", "" if one.temperature_c is None else f"{one.temperature_c:g} C"),
        *whole.process,
        *(("picture", f"{p.file}{p.note and f', {p.note}'}") for p in whole.pictures),
    ]
    lines += [f"  {name} {text}" for name, text in about if text]
    for step in whole.wet_steps:
        warm = "" if step.temperature_c is None else f" at {step.temperature_c:g} C"
        time = "" if step.time_s is None else f" {format_time(step.time_s)}"
        lines.append(f"  {step.bath}{time}{warm}{step.note and f', {step.note}'}")
    lines += [
        f"  {bath.tray}: {bath.product} {bath.dilution}, {span(bath.age_h)} old, "
        f"{numbered(bath.sheets_before, 'sheet')} before"
        for bath in whole.baths
    ]
    if whole.tones:
        told = ", ".join(f"{one.region} {one.density:.2f}" for one in whole.tones)
        lines.append(f"  densities {told} ({whole.tones[0].how})")
    if whole.room is not None:
        lines += [f"  safe under {name}: {safe}" for name, safe in whole.room.safe.items()]
        lines += [f"  {old}" for old in whole.room.old]
    if whole.score is not None:
        lines += ["", *score_lines(whole.score)]
    lines += ["", "given"]
    for given in whole.exposures:
        low_s, high_s = given.bounds_s
        dose = format_time(low_s) if low_s == high_s else f"{low_s:.1f} to {high_s:.1f} s"
        lines.append(f"  {given.label}: {dose} of {format_time(given.dose_s)}")
    for pause in whole.pauses:
        lines.append(f"  pause in {pause.label}")
    for strip in whole.evidence:
        picked = ", ".join(pick.choice for pick in strip.picks)
        lines.append(f"from {strip.mark or strip.record_id[:8]}, {strip.title}: {picked or '-'}")
    return [*lines, *(f"{r.label}: {r.text}" if r.label else r.text for r in whole.remarks)]
