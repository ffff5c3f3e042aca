"""The sounds as rhythms, told apart without pitch: an active buzzer has one pitch only.

Any two differ in the number of their notes, or in one note's length by a factor of 2.5 or more.
Pitches are for a piezo, and only help. Small piezos are loudest near 2 to 4 kHz (from memory of
data sheets); the rhythms lie just below, where they cut less into speech.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

from controller.ports import Sound


class Note(NamedTuple):
    """A tone of ``on_ms``, then ``off_ms`` of silence."""

    on_ms: int
    off_ms: int
    pitch_hz: int


Rhythm: TypeAlias = tuple[Note, ...]

RHYTHMS: dict[Sound, Rhythm] = {
    Sound.TICK: (Note(15, 0, 2000),),
    Sound.PRESS: (Note(50, 0, 1600),),
    Sound.LAST_TICK: (Note(170, 0, 2000),),
    Sound.END: (Note(600, 0, 1200),),
    Sound.PROMPT: (Note(60, 100, 1500),) * 4,
    Sound.GO: (Note(80, 80, 1600), Note(320, 0, 2000)),
    Sound.NOT_TAKEN: (Note(30, 40, 900), Note(30, 0, 900)),
    Sound.PAUSED: (Note(220, 280, 1300), Note(220, 0, 1300)),
    Sound.ATTENTION: (Note(100, 100, 1800),) * 3,
    # quicker and higher until it is too late: the foot hears how long it has left
    Sound.RISING: (
        Note(60, 220, 1000),
        Note(60, 160, 1200),
        Note(60, 110, 1450),
        Note(60, 70, 1750),
        Note(60, 40, 2100),
        Note(60, 0, 2500),
    ),
    # short to long as the tool comes in, long to short as it leaves; GO is longer and slower
    Sound.HAND_IN: (Note(25, 60, 1700), Note(25, 60, 1700), Note(130, 0, 2200)),
    Sound.HAND_OUT: (Note(130, 60, 2200), Note(25, 60, 1700), Note(25, 0, 1700)),
    Sound.FAULT: (Note(300, 90, 2400), Note(90, 90, 1400)) * 3,
}

# What a higher sound interrupts; of two equal ones the newer is heard.
URGENCY: dict[Sound, int] = {
    Sound.FAULT: 3,
    Sound.PRESS: 2,
    Sound.GO: 2,
    Sound.END: 2,
    Sound.NOT_TAKEN: 2,
    Sound.PAUSED: 2,
    Sound.RISING: 2,
    Sound.ATTENTION: 1,
    Sound.PROMPT: 1,
    Sound.HAND_IN: 2,
    Sound.HAND_OUT: 2,
    Sound.TICK: 0,
    Sound.LAST_TICK: 0,
}

# Told late they would be untrue, so they are rather not told.
FLEETING = frozenset({Sound.PRESS, Sound.TICK, Sound.LAST_TICK, Sound.HAND_IN, Sound.HAND_OUT})

_ROLL_MS = 120  # a terminal's bell lasts about a tenth of a second (common practice, no source)
_BELL_GAP_MS = 240


def as_bells(rhythm: Rhythm) -> Rhythm:
    """Write a rhythm for a terminal's bell, which knows no length: a long note is a roll."""
    bells: list[Note] = []
    for note in rhythm:
        strokes = max(1, round(note.on_ms / _ROLL_MS))
        bells += [Note(1, _ROLL_MS - 1, note.pitch_hz)] * (strokes - 1)
        bells.append(Note(1, max(note.off_ms, _BELL_GAP_MS), note.pitch_hz))
    return tuple(bells)
