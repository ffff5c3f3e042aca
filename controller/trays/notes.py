"""Spoken notes: a sound file for each, kept with the mark of its sheet until somebody types it.

A note is a WAV file in the folder ``notes`` beside the book, named by mark and time. What was
typed of it stands in a text file of the same name; such a note waits for nobody any more.
"""

from __future__ import annotations

import re
import wave
from datetime import datetime
from pathlib import Path

import msgspec

NOTES_FOLDER = "notes"
RATE_HZ = 16_000  # speech needs no more
LEAST_S = 0.3  # shorter than any word
_NAME = re.compile(r"(?P<mark>[A-Z]\d{1,2}|none)-(?P<at>\d{8}-\d{6})(?:-\d+)?$")
_TIME = "%Y%m%d-%H%M%S"


class Spoken(msgspec.Struct, frozen=True):
    """What was said: samples of 16 bits, one channel."""

    samples: bytes
    rate_hz: int = RATE_HZ

    @property
    def lasts_s(self) -> float:
        """How long it is, in seconds."""
        return len(self.samples) / 2 / self.rate_hz


class Note(msgspec.Struct, frozen=True):
    """A note on the disk; ``mark`` is empty where no sheet was out. ``typed`` is its text."""

    path: Path
    mark: str
    at: datetime
    lasts_s: float
    typed: str = ""


def new_path(folder: Path, mark: str, at: datetime) -> Path:
    """Name the file of a new note; ``folder`` is the book's."""
    name = f"{mark or 'none'}-{at.strftime(_TIME)}"
    path = folder / NOTES_FOLDER / f"{name}.wav"
    number = 1
    while path.exists():
        number += 1
        path = path.with_name(f"{name}-{number}.wav")
    return path


def write_sound(path: Path, spoken: Spoken) -> None:
    """Write a note's sound. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    with wave.open(str(part), "wb") as file:
        file.setframerate(spoken.rate_hz)
        file.setnchannels(1)
        file.setsampwidth(2)
        file.writeframes(spoken.samples)
    part.replace(path)


def read_sound(path: Path) -> Spoken:
    """Read a note's sound. Raises OSError, or wave.Error where it is none."""
    with wave.open(str(path), "rb") as file:
        return Spoken(file.readframes(file.getnframes()), file.getframerate())


def notes_in(folder: Path) -> list[Note]:
    """Give the notes in the book's folder, the oldest first; what is no note is passed over."""
    notes = []
    for path in (folder / NOTES_FOLDER).glob("*.wav"):
        named = _NAME.match(path.stem)
        if named is None:
            continue
        try:
            with wave.open(str(path), "rb") as file:
                lasts_s = file.getnframes() / file.getframerate()
            at = datetime.strptime(named["at"], _TIME).astimezone()
        except (wave.Error, EOFError, OSError, ValueError):
            continue
        mark = "" if named["mark"] == "none" else named["mark"]
        notes.append(Note(path, mark, at, lasts_s, _typed(path)))
    return sorted(notes, key=lambda note: (note.at, note.path.name))


def keep_typed(note: Note, text: str) -> None:
    """Write down what a note says. Raises OSError."""
    _text_of(note.path).write_text(text.strip() + "\n", encoding="utf-8")


def _typed(path: Path) -> str:
    try:
        return _text_of(path).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _text_of(path: Path) -> Path:
    return path.with_suffix(".txt")
