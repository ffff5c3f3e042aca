"""Spoken notes at the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from controller.trays.notes import RATE_HZ, Spoken, new_path, write_sound
from drivers.places import config_folder, data_folder
from tests.ui.command import Told


def speak(mark: str, lasts_s: float = 2.0) -> Path:
    path = new_path(data_folder(), mark, datetime(2026, 11, 26, 1, 30))
    write_sound(path, Spoken(b"\0\1" * round(RATE_HZ * lasts_s)))
    return path


def test_a_typed_note_stands_in_the_book_as_a_remark(dryside: Callable[..., Told]) -> None:
    """A note of a strip is listed, typed, then found with its sheet and listed no more."""
    assert dryside("strip", "--patches", "2")[0] == 0
    (record,) = json.loads(dryside("book", "list", "--json")[1])
    mark = record["marks"][0]
    speak(mark)
    code, told, _ = dryside("book", "notes")
    assert code == 0
    assert " ".join(told.split()).startswith("1 2026-11-26 01:30")
    assert f"{mark} 2 s not typed yet" in " ".join(told.split())
    assert dryside("book", "notes", "type", "1", "sky a little darker")[0] == 0
    assert "sky a little darker" in dryside("book", "show", mark)[1]
    assert "no spoken note waits" in dryside("book", "notes")[1]
    (kept,) = json.loads(dryside("book", "notes", "--all", "--json")[1])
    assert (kept["mark"], kept["typed"], kept["lasts_s"]) == (mark, "sky a little darker", 2.0)


def test_a_note_of_no_sheet_is_kept_beside_its_sound(dryside: Callable[..., Told]) -> None:
    """A note of a sheet that the book has not costs nobody what was typed."""
    path = speak("")
    assert "beside the sound" in dryside("book", "notes", "type", "1", "buy fixer")[1]
    assert path.with_suffix(".txt").read_text() == "buy fixer\n"


def test_two_notes_of_one_second_are_both_kept(dryside: Callable[..., Told]) -> None:
    """Notes of one sheet in the same second lie in two files."""
    assert speak("K7") != speak("K7")
    assert len(json.loads(dryside("book", "notes", "--json")[1])) == 2


def test_a_note_that_is_not_there_is_refused_in_one_sentence(dryside: Callable[..., Told]) -> None:
    """Typing or hearing a note that no list has ends with code 2 and what would be right."""
    for words in (("type", "3", "text"), ("hear", "3")):
        code, _, wrong = dryside("book", "notes", *words)
        assert code == 2
        assert "hold the wet pedal" in wrong
        assert "Traceback" not in wrong


def test_the_viewing_light_is_noted_with_a_judgement(dryside: Callable[..., Told]) -> None:
    """Where the rig tells which light wet sheets are judged under, a pick's record says so."""
    rig = config_folder() / "rig.toml"
    light = '[trays]\nviewing_light = "40 W at 1.2 m over the sink"\n'
    rig.write_text('[lamp]\ndriver = "sim"\naddress = "lamp"\n' + light)
    assert dryside("strip", "--patches", "3")[0] == 0
    assert dryside("pick", "B")[0] == 0
    (record,) = json.loads(dryside("book", "list", "--json")[1])
    shown = dryside("book", "show", record["marks"][0])[1]
    assert "B judged wet under 40 W at 1.2 m over the sink" in shown
