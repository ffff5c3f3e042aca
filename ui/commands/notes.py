"""``dryside book notes``: what was spoken over the trays, heard again and typed."""

from __future__ import annotations

import sys
import wave
from array import array

from controller.errors import BadInput
from controller.events import Remark
from controller.ports import PortFault
from controller.trays.notes import Note, keep_typed, notes_in, read_sound
from drivers.places import book_path
from ui import show
from ui.unit import open_book

WHERE = "book notes"


def list_notes(*, every: bool, json_: bool) -> None:
    """List the notes that wait; with ``every`` the typed ones as well."""
    found = notes_in(book_path().parent) if every else waiting()
    if json_:
        show.as_json(
            [
                {
                    "mark": note.mark,
                    "at": note.at.isoformat(),
                    "lasts_s": round(note.lasts_s, 1),
                    "typed": note.typed,
                    "file": str(note.path),
                }
                for note in found
            ]
        )
        return
    if not found:
        print("no spoken note waits to be typed")
    for number, note in enumerate(found, start=1):
        what = note.typed or "not typed yet"
        numbered = "  " if every else f"{number:2}"
        show.cut(
            f"{numbered}  {show.when(note.at)}  {note.mark or '-':4} {note.lasts_s:4.0f} s  {what}"
        )
    if found and not every:
        print("next: dryside book notes hear 1, then dryside book notes type 1 'what it says'")


def hear_note(number: int, device: str) -> None:
    """Play a note of the list."""
    from drivers.talk_sinks import Card

    note = _numbered(number)
    try:
        spoken = read_sound(note.path)
    except (OSError, EOFError, wave.Error) as error:
        raise BadInput(
            f"{note.path} cannot be read ({error})", WHERE, "a sound file of the unit's own"
        ) from None
    samples = array("h", spoken.samples)
    if sys.byteorder == "big":
        samples.byteswap()
    print(f"{note.mark or 'no sheet'}, {show.when(note.at)}, {spoken.lasts_s:.0f} s")
    try:
        card = Card(device or None)
        try:
            card.write(samples, rate=spoken.rate_hz, channels=1)
        finally:
            card.close()
    except PortFault as fault:
        raise BadInput(
            f"{fault}; the sound stays in {note.path}", WHERE, "a unit with a sound card"
        ) from None


def type_note(number: int, text: str) -> None:
    """Keep what a note says, beside its sound and as a remark on its sheet."""
    note = _numbered(number)
    if not text.strip():
        if not sys.stdin.isatty():
            raise BadInput("nothing was typed", WHERE, "the words, such as 'sky darker'")
        text = input(f"{note.mark or 'no sheet'}: ")
    if not text.strip():
        raise BadInput("nothing was typed", WHERE, "the words, such as 'sky darker'")
    is_in_book = False
    if note.mark:
        with open_book() as book:
            page = book.record(note.mark)
            if page is not None:
                book.write(Remark(page.record.record_id, text.strip(), mark=note.mark))
                is_in_book = True
    try:
        keep_typed(note, text)
    except OSError as error:
        raise BadInput(
            f"{note.path.with_suffix('.txt')} cannot be written ({error.strerror})",
            WHERE,
            "a folder that can be written to",
        ) from None
    print(
        f"kept: {note.mark}" if is_in_book else "kept beside the sound: the book has no sheet of it"
    )


def waiting() -> list[Note]:
    """Give the notes that nobody has typed yet, the oldest first."""
    return [note for note in notes_in(book_path().parent) if not note.typed]


def _numbered(number: int) -> Note:
    notes = waiting()
    if not 1 <= number <= len(notes):
        right = f"1 to {len(notes)}" if notes else "a note first: hold the wet pedal, and speak"
        raise BadInput(f"there is no note {number}", WHERE, right)
    return notes[number - 1]
