"""The talking book as a process: ``python -P -m drivers.talk_process --folder F``.

A process of its own: decoding and mixing must not share the engine's interpreter. With ``--fd``
it is told what to do (drivers/talk_words.py) and ends when the other end of that socket closes;
without, it plays until it is interrupted. ``--sink file.wav`` writes what would be heard.
"""

from __future__ import annotations

import argparse
import contextlib
import select
import signal
import socket
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType
from typing import Protocol

from controller.ports import PortFault
from drivers.talk_core import Level, Place, following, read_places, resume, scaled, written
from drivers.talk_files import Ahead, Read, Unplayable, audio_files, read_blocks
from drivers.talk_sinks import INSTALL, Card, Sink, WavFile
from drivers.talk_words import Halt, Lower, Notice, Resume, Skip, ToTalk
from drivers.wire import Wire

SAVE_S = 10.0  # so much may be heard twice after the mains have failed
WAIT_S = 0.05  # for the next block: messages are heard meanwhile
_LAST_STEPS = 5  # more than a fade needs; it does not wait for a file that does not come


class Source(Protocol):
    """What gives the blocks, one after the other."""

    def next(self, wait_s: float) -> Read | None:
        """Give what comes next; None where it is not there in time."""

    def close(self) -> None:
        """Read no more."""


class Player:
    """Plays block after block; knows neither socket nor clock.

    ``open_at`` gives a source that begins at a place, ``keep`` is given the place to keep.
    """

    def __init__(
        self,
        names: Sequence[str],
        place: Place,
        *,
        level: Level,
        sink: Sink,
        open_at: Callable[[Place], Source],
        keep: Callable[[Place], None],
    ) -> None:
        self._names = names
        self._level = level
        self._sink = sink
        self._open_at = open_at
        self._keep = keep
        self._source = open_at(place)
        self._told: set[str] = set()
        self.place = place
        self.notices: list[str] = []

    @property
    def sounding(self) -> bool:
        """Is there something to be heard, so that ``step`` must be called again and again?"""
        return not self._level.silent

    def hear(self, message: ToTalk) -> None:
        """Do as the engine says."""
        match message:
            case Resume():
                self._level.turn(on=True)
            case Halt():
                self._level.turn(on=False)
            case Lower(for_s=for_s):
                self._level.duck(for_s)
            case Skip():
                self._source.close()
                self.place = Place(following(self._names, self.place.name))
                self._source = self._open_at(self.place)

    def step(self) -> None:
        """Play one block. Raises PortFault when nothing more can be heard."""
        read = self._source.next(WAIT_S)
        if read is None:
            return
        if isinstance(read, Unplayable):
            if not read.name:
                raise PortFault(read.why)
            if read.name not in self._told:
                self._told.add(read.name)
                self.notices.append(read.why)
            return
        pieces = self._level.take(read.frames, read.rate)
        out = scaled(read.samples, read.channels, pieces)
        self._sink.write(out, rate=read.rate, channels=read.channels)
        self.place = Place(read.place.name, read.place.at_s + read.frames / read.rate)
        if self._level.silent:
            self._sink.rest()
            self._keep(self.place)

    def close(self) -> None:
        """Fade out and keep the place."""
        self._level.turn(on=False)
        try:
            for _ in range(_LAST_STEPS):
                if self.sounding:
                    self.step()
        except PortFault:
            pass  # it ends anyway
        finally:
            self._keep(self.place)
            self._source.close()
            self._sink.close()


class _Shelf:
    """The file of places, one for each folder."""

    def __init__(self, file: Path | None, folder: Path) -> None:
        self._file = file
        self._folder = str(folder)

    def place(self) -> Place | None:
        return self._read().get(self._folder)

    def keep(self, place: Place) -> None:
        if self._file is None:
            return
        draft = self._file.with_suffix(".new")
        # a full disk costs the place, not the book
        with contextlib.suppress(OSError):
            draft.write_text(written(self._read() | {self._folder: place}))
            draft.replace(self._file)

    def _read(self) -> dict[str, Place]:
        try:
            return read_places(self._file.read_text()) if self._file else {}
        except (OSError, UnicodeDecodeError):
            return {}


def main(arguments: Sequence[str] | None = None) -> int:
    """Play; exit code 2 with one sentence where that can't be."""
    given = _parser().parse_args(arguments)
    wire: Wire[ToTalk] | None = None
    if given.fd is not None:
        wire = Wire(socket.socket(fileno=given.fd), ToTalk)
    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, _end)
    try:
        return _play(given, wire)
    except PortFault as fault:
        if wire is not None:
            wire.send(Notice(str(fault), last=True))
        else:
            print(fault, file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="talk", description="Plays the audio files of a folder.")
    parser.add_argument("--folder", required=True, type=Path, help="where they are")
    parser.add_argument("--volume", type=float, default=1.0, help="0 to 1")
    parser.add_argument("--ducked", type=float, default=0.15, help="the same, under a prompt")
    parser.add_argument("--state", type=Path, help="the file that keeps the place")
    parser.add_argument("--sink", type=Path, help="write what would be heard to this WAV file")
    parser.add_argument("--device", help="a sound card of PortAudio's list, by its name")
    parser.add_argument("--fd", type=int, help="the socket on which it is told what to do")
    return parser


def _end(_number: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)


def _play(given: argparse.Namespace, wire: Wire[ToTalk] | None) -> int:
    folder = given.folder.expanduser().absolute()
    names = audio_files(folder)
    try:
        import soundfile  # noqa: F401 - the thread that reads needs it; said here
    except ImportError as error:
        raise PortFault(f"the talking book needs {error.name}; install it: {INSTALL}") from None
    except OSError:
        raise PortFault(
            "the talking book needs the library libsndfile; install it: "
            "sudo apt install libsndfile1"
        ) from None
    shelf = _Shelf(given.state, folder)
    player = Player(
        names,
        resume(names, shelf.place()),
        level=Level(loud=given.volume, low=given.ducked),
        sink=WavFile(given.sink) if given.sink else Card(given.device),
        open_at=lambda place: Ahead(read_blocks(folder, names, place)),
        keep=shelf.keep,
    )
    try:
        if wire is None:
            player.hear(Resume())
        _loop(player, wire, shelf)
    finally:
        player.close()
    return 0


def _loop(player: Player, wire: Wire[ToTalk] | None, shelf: _Shelf) -> None:
    save_s = time.monotonic() + SAVE_S
    while True:
        if wire is not None:
            select.select([wire], [], [], 0.0 if player.sounding else None)
            received = wire.receive_all()
            for message in received.messages:
                player.hear(message)
            if received.closed:
                return
        if player.sounding:
            player.step()
            while player.notices:
                sentence = player.notices.pop(0)
                if wire is None:
                    print(sentence, file=sys.stderr)
                else:
                    wire.send(Notice(sentence))
            if time.monotonic() >= save_s:
                shelf.keep(player.place)
                save_s = time.monotonic() + SAVE_S


if __name__ == "__main__":
    sys.exit(main())
