"""Negatives and prints, told in lines. Pure."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from datetime import datetime

from controller.book.print_entries import Negative, PrintEntry
from controller.book.whole import WholePrint
from controller.chemistry.words import span
from controller.events import Fate
from controller.numbered import numbered
from controller.score.report import score_lines
from controller.stops import format_time

WIDE = 44  # characters of a line that is broken here: beside a picture there are no more
_OF_SEVERAL = re.compile(r", sheet \d+$")  # what a run of several sheets adds to its labels


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
    of = "" if one.title.startswith(one.negative) else one.negative  # a title may begin with it
    about = ", ".join(filter(None, [one.title, of, one.paper, *places, one.went]))
    return f"{when(one.made_at)}  {one.mark}  #{one.print_id:<5}  {stars:5}  {about}"


def print_state(one: PrintEntry) -> str:
    """Tell in a few words what became of a print: number, rating, where it went."""
    parts = [f"{place.written} of {place.edition}" for place in one.editions]
    parts += [f"rated {one.rating} of 5"] if one.rating else []
    parts += ["spoiled since"] if one.fate is Fate.SPOILED else []
    parts += [f"went to {one.went}"] if one.went else []
    return ", ".join(parts)


def prints_lines(found: Sequence[PrintEntry]) -> list[str]:
    """Tell which prints a record became, and where all of each is told."""
    lines = []
    for one in found:
        state = print_state(one)
        lines.append(f"print {one.mark}{state and f': {state}'}")
    if found:
        lines.append(f"all of one print: dryside book print show {found[0].mark}")
    return lines


def whole_lines(whole: WholePrint, when: Callable[[datetime], str]) -> list[str]:
    """Tell all of one print: what it is, what it was made by, what was found out since."""
    one = whole.print
    lines = [f"{one.mark}  #{one.print_id}  {one.title}, made {when(one.made_at)}"]
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
    lines += ["", *negative_lines(whole.negative)] if whole.negative.name else []
    if whole.tones:
        told = ", ".join(f"{tone.region} {tone.density:.2f}" for tone in whole.tones)
        lines += ["", f"densities, {whole.tones[0].how}"]
        lines += textwrap.wrap(told, WIDE, initial_indent="  ", subsequent_indent="  ")
    lines += ["", "in the trays"] if whole.wet_steps or whole.baths else []
    for step in whole.wet_steps:
        warm = "" if step.temperature_c is None else f" at {step.temperature_c:g} C"
        time = "" if step.time_s is None else f" {format_time(step.time_s)}"
        lines.append(f"  {step.bath}{time}{warm}{step.note and f', {step.note}'}")
    lines += [
        f"  {bath.tray}: {bath.product} {bath.dilution}, {span(bath.age_h)} old, "
        f"{numbered(bath.sheets_before, 'sheet')} before"
        for bath in whole.baths
    ]
    if whole.room is not None:
        lines += ["", f"the room, as it stood on {whole.room.day}"]
        lines += [f"  safe under {name}: {safe}" for name, safe in whole.room.safe.items()]
        lines += [f"  {old}" for old in whole.room.old]
    if whole.score is not None:
        lines += ["", *score_lines(whole.score)]
    lines += ["", "given"]
    for given in whole.exposures:
        low_s, high_s = given.bounds_s
        dose = format_time(low_s) if low_s == high_s else f"{low_s:.1f} to {high_s:.1f} s"
        label = _OF_SEVERAL.sub("", given.label)
        through = f", filter {given.filter}" if given.filter else ""
        lines.append(f"  {label}{through}: {dose} of {format_time(given.dose_s)}")
    for pause in whole.pauses:
        label = _OF_SEVERAL.sub("", pause.label)
        lines.append(f"  a pause in {label}, {format_time(max(pause.length_s, 0.1))}")
    lines += ["", "found with"] if whole.evidence else []
    for strip in whole.evidence:
        picked = ", ".join(pick.choice for pick in strip.picks)
        lines.append(f"  {strip.mark or strip.record_id[:8]}, {strip.title}: {picked or '-'}")
    remarks = [f"{r.label}: {r.text}" if r.label else r.text for r in whole.remarks]
    lines += ["", *remarks] if remarks else []
    others = " ".join(mark for mark in whole.record.marks if mark != one.mark)
    beside = f" (with {others})" if others else ""
    return [*lines, "", f"the run that it was made in{beside}: dryside book show {one.mark}"]
