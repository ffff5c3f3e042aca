"""The files of a talking book, decoded ahead in a thread: a card that stalls makes no gap.

They are read with soundfile (libsndfile). Its wheel brings the library along for aarch64 and
x86-64, MP3 included, so that a Pi compiles nothing. miniaudio would need no second package for
the sound card, but has no wheel for aarch64 (37 s of compiling on x86-64, longer on a Pi).
"""

from __future__ import annotations

import logging
import os
import queue
import threading
from array import array
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

from controller.ports import PortFault
from drivers.talk_core import Place, following, in_order

_log = logging.getLogger(__name__)

BLOCK_S = 0.01  # a message waits for so long at most
_AHEAD = 300  # blocks


class Block(NamedTuple):
    """Some frames of a file: 16-bit samples, one or two channels, interleaved."""

    place: Place  # of the first frame
    rate: int  # frames per second
    channels: int
    samples: array[int]

    @property
    def frames(self) -> int:
        """How many frames there are."""
        return len(self.samples) // self.channels


class Unplayable(NamedTuple):
    """A file that was passed over, or (``name`` empty) all of them; ``why`` is a sentence."""

    name: str
    why: str


Read: TypeAlias = Block | Unplayable


def audio_files(folder: Path) -> list[str]:
    """Give the audio files below a folder in order. Raises PortFault where there are none."""
    found = [
        (Path(at) / name).relative_to(folder).as_posix()
        for at, _, names in os.walk(folder)
        for name in names
    ]
    names = in_order(found)
    if names:
        return names
    if not folder.is_dir():
        raise PortFault(f"there is no folder {folder}; give [talk] one that holds audio files")
    raise PortFault(f"{folder} holds no audio files; wav, mp3, flac and ogg can be played")


def read_blocks(folder: Path, names: Sequence[str], place: Place) -> Iterator[Read]:
    """Read on and on from a place: file after file, after the last the first again.

    It ends only when not one file can be played.
    """
    name, at_s = place
    failed: set[str] = set()
    while len(failed) < len(names):
        try:
            some = False
            for block in _blocks(folder, name, at_s):
                some = True
                yield block
            # one whose end was the place is fine, so long as it plays from its beginning
            if some or at_s:
                failed.discard(name)
            else:
                failed.add(name)
                yield Unplayable(name, _shown(f"{name} holds no sound and is passed over"))
        except (RuntimeError, OSError) as error:  # soundfile's own are RuntimeErrors
            failed.add(name)
            yield Unplayable(name, _shown(f"{name} can't be played and is passed over: {error}"))
        name, at_s = following(names, name), 0.0
    yield Unplayable("", f"not one of the files in {folder} can be played")


def _shown(sentence: str) -> str:
    # a name on a card need not be text
    return sentence.encode("utf-8", "replace").decode()


def _blocks(folder: Path, name: str, at_s: float) -> Iterator[Block]:
    import soundfile

    class Stream(soundfile.SoundFile):  # type: ignore[misc]  # it has no types
        # One that can be sought in is sought in after every read, which soundfile 0.14 does to
        # files that are written too; libsndfile 1.2.2 then gives silence for MP3 (measured).
        def seekable(self) -> bool:
            return False

    with Stream(folder / name) as file:
        rate, channels = int(file.samplerate), int(file.channels)
        at = min(int(at_s * rate), int(file.frames))
        real = file.subtype in ("FLOAT", "DOUBLE")
        if at:
            file.seek(at)
        while True:
            read = _read(file, max(1, int(rate * BLOCK_S)), real=real)
            if not read:
                return
            frames = len(read) // channels
            yield Block(Place(name, at / rate), rate, min(channels, 2), _front(read, channels))
            at += frames


def _read(file: Any, frames: int, *, real: bool) -> array[int]:
    # soundfile does not ask libsndfile to scale files of real numbers to whole ones
    read = array("f" if real else "h", bytes(frames * file.channels * (4 if real else 2)))
    # not buffer_read, which asserts that a file's length is a multiple of what is read
    got = file.buffer_read_into(read, dtype="float32" if real else "int16") * file.channels
    if not real:
        return read[:got]
    return array("h", [round(max(-1.0, min(1.0, x)) * 32767) for x in read[:got]])


def _front(samples: array[int], channels: int) -> array[int]:
    # of more than two channels the first two are front left and right
    if channels <= 2:
        return samples
    front = array("h", bytes(4 * (len(samples) // channels)))
    front[0::2], front[1::2] = samples[0::channels], samples[1::channels]
    return front


class Ahead:
    """Reads some seconds ahead, in a thread."""

    def __init__(self, blocks: Iterator[Read]) -> None:
        self._blocks = blocks
        self._queue: queue.Queue[Read] = queue.Queue(_AHEAD)
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="files", daemon=True)
        self._thread.start()

    def next(self, wait_s: float) -> Read | None:
        """Give what comes next; None where it is not there in time."""
        try:
            return self._queue.get(timeout=wait_s)
        except queue.Empty:
            return None

    def close(self) -> None:
        """Read no more."""
        self._closed = True

    def _run(self) -> None:
        try:
            for each in self._blocks:
                if not self._put(each):
                    return
        except Exception as error:
            _log.exception("while a talking book was read")
            # whoever waits for blocks must not wait for ever
            self._put(Unplayable("", f"the talking book can't be read: {error!r}"))

    def _put(self, read: Read) -> bool:
        while not self._closed:
            try:
                self._queue.put(read, timeout=0.2)
            except queue.Full:
                continue
            return True
        return False
