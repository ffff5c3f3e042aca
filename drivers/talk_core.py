"""The talking book, pure: which file and where in it, how loud it is, and how long it is lowered.

Loudness goes by the frames that were heard, not by a clock: so a sound card and a file get the
same. A *gain* is a factor, 0 (silent) to 1 (as recorded).
"""

from __future__ import annotations

import json
import math
import re
from array import array
from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePosixPath
from typing import NamedTuple

from controller.ports import Cue
from drivers.rhythms import RHYTHMS

SUFFIXES = frozenset({".flac", ".mp3", ".ogg", ".wav"})

DOWN_S = 0.015  # from full to nothing: no click, and soon enough for a prompt's first word
UP_S = 0.6  # from nothing to full: unhurried, so that it startles nobody
# Kept low for so long after a sound: ticks a second apart then find it evenly low.
AFTER_S = 1.2


class Place(NamedTuple):
    """A file, by its path within the folder, and where in it, in seconds."""

    name: str
    at_s: float = 0.0


def in_order(names: Iterable[str]) -> list[str]:
    """Give the audio files among these names in the order of hearing: 2.mp3 before 10.mp3."""
    audible = {
        name
        for name in names
        if PurePosixPath(name).suffix.lower() in SUFFIXES
        and not any(part.startswith(".") for part in PurePosixPath(name).parts)
    }
    return sorted(audible, key=_key)


def _key(name: str) -> tuple[list[list[tuple[int, int, str]]], str]:
    # the name itself last: no two names are equal
    parts = PurePosixPath(name).with_suffix("").parts
    return [_counted(part.casefold()) for part in parts], name


def _counted(text: str) -> list[tuple[int, int, str]]:
    # only ASCII digits: int() takes no superscript, and a folder may hold anything
    pieces = re.findall(r"[0-9]+|[^0-9]+", text)
    return [(0, int(p[:100]), "") if p[0] in "0123456789" else (1, 0, p) for p in pieces]


def resume(names: Sequence[str], place: Place | None) -> Place:
    """Give where to go on, in names that are in order and not empty.

    Where the file is no longer there it goes on with what would have followed.
    """
    if place is None:
        return Place(names[0])
    if place.name in names:
        return place
    later = [name for name in names if _key(name) > _key(place.name)]
    return Place(later[0] if later else names[0])


def following(names: Sequence[str], name: str) -> str:
    """Give the file after this one; after the last comes the first again."""
    return names[(names.index(name) + 1) % len(names)]


def read_places(text: str) -> dict[str, Place]:
    """Read the places kept, by folder; what is not understood is not kept."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    places: dict[str, Place] = {}
    for folder, kept in found.items() if isinstance(found, dict) else ():
        match kept:
            case {"file": str(name), "at_s": float() | int() as at_s}:
                if math.isfinite(at_s) and at_s >= 0:
                    places[folder] = Place(name, float(at_s))
            case _:
                pass
    return places


def written(places: Mapping[str, Place]) -> str:
    """Write the places, by folder, as ``read_places`` reads them."""
    kept = {f: {"file": p.name, "at_s": round(p.at_s, 3)} for f, p in places.items()}
    return json.dumps(kept, indent=1) + "\n"


# -- loudness --------------------------------------------------------------------------------


class Piece(NamedTuple):
    """Some frames, the gain of the first, and by how much it changes with each."""

    frames: int
    gain: float
    step: float = 0.0


class Level:
    """How loud it is: ``loud``, ``low`` while lowered, nothing while it is not to be heard."""

    def __init__(self, *, loud: float, low: float) -> None:
        self._loud = loud
        self._low = low
        self._on = False
        self._low_for_s = 0.0
        self.gain = 0.0

    @property
    def silent(self) -> bool:
        """Is there nothing to hear until it is turned on?"""
        return not self._on and self.gain == 0

    def turn(self, *, on: bool) -> None:
        """Begin to fade in or out."""
        self._on = on

    def duck(self, for_s: float) -> None:
        """Go low at once, for so long at least (seconds heard), and come back by itself."""
        self._low_for_s = max(self._low_for_s, for_s)

    def take(self, frames: int, rate: int) -> list[Piece]:
        """Give the gains of the next frames, at so many frames in a second."""
        pieces: list[Piece] = []
        while frames > 0:
            piece = self._next(frames, rate)
            frames -= piece.frames
            pieces.append(piece)
        return pieces

    def _next(self, most: int, rate: int) -> Piece:
        target = 0.0
        if self._on:
            target = self._low if self._low_for_s > 0 else self._loud
            if self._low_for_s > 0:
                most = min(most, math.ceil(self._low_for_s * rate))
        way = target - self.gain
        step = 0.0
        frames = most
        if way:
            step = 1 / (UP_S * rate) if way > 0 else -1 / (DOWN_S * rate)
            frames = min(most, math.ceil(way / step))
        piece = Piece(frames, self.gain, step)
        arrived = not way or frames >= way / step
        self.gain = target if arrived else self.gain + step * frames
        self._low_for_s = max(0.0, self._low_for_s - frames / rate)
        return piece


def scaled(samples: array[int], channels: int, pieces: Iterable[Piece]) -> array[int]:
    """Give 16-bit samples, interleaved by channel, with their gains."""
    out: array[int] = array("h")
    at = 0
    for piece in pieces:
        part = samples[at : at + piece.frames * channels]
        at += len(part)
        if piece.step:
            gains = (max(0.0, piece.gain + (i // channels) * piece.step) for i in range(len(part)))
            out.extend(int(x * gain) for x, gain in zip(part, gains, strict=True))
        elif piece.gain == 1:
            out.extend(part)
        else:
            # whole numbers: the cheapest way without numpy; a table of products missed the caches
            factor = round(piece.gain * 65536)
            out.fromlist([x * factor >> 16 for x in part])
    return out


# -- prompts ---------------------------------------------------------------------------------


def spoken_s(text: str, words_per_minute: int = 160) -> float:
    """Estimate how long a text is spoken, in seconds; rather too long than too short.

    Measured with espeak-ng 1.51 at 160 words a minute: 0.07 s a letter, 0.33 s more a digit
    or capital, since each is a word, 0.25 s more at a stop; half a second for the program to begin.
    """
    digits = sum(c.isdigit() for c in text)
    capitals = sum(c.isupper() for c in text)  # a mark, K7, is spelt
    stops = sum(c in ".,;:!?" for c in text)
    at_160_s = 0.072 * len(text) + 0.33 * (digits + capitals) + 0.25 * stops
    return 0.5 + at_160_s * 160 / words_per_minute


class Prompts:
    """How long what is said and sounded will be heard.

    One text is spoken at a time; one that has not begun is replaced by the next.
    """

    def __init__(self, *, speaks: bool, words_per_minute: int = 160) -> None:
        self._speaks = speaks
        self._words_per_minute = words_per_minute
        self._begins_s = -math.inf  # the last text
        self._ends_s = -math.inf

    def heard_s(self, cue: Cue, now_s: float) -> float:
        """Give for how long from now on to be low for this cue; 0 where it makes no sound."""
        sounds_s = 0.0
        if cue.sound is not None:
            sounds_s = sum(n.on_ms + n.off_ms for n in RHYTHMS[cue.sound]) / 1000 + AFTER_S
        if self._speaks and cue.text.strip():
            if now_s >= self._begins_s:
                self._begins_s = max(now_s, self._ends_s)
            self._ends_s = self._begins_s + spoken_s(cue.text, self._words_per_minute)
            sounds_s = max(sounds_s, self._ends_s - now_s)
        return sounds_s
