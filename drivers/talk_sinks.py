"""Where a talking book is heard: the sound card, or a WAV file that keeps what would be heard.

The card is reached with sounddevice (PortAudio), which plays through ALSA and what lies over it.
Blocks are written, not asked for by a callback: what has been written and not yet heard is
``LATENCY_S``, and with a block and the fade down that keeps a prompt's lowering within 50 ms.
"""

from __future__ import annotations

import sys
import time
import wave
from array import array
from pathlib import Path
from typing import Any, Protocol

from controller.ports import PortFault

LATENCY_S = 0.02
INSTALL = f"{sys.executable} -m pip install soundfile sounddevice"
# By these names ALSA mixes with the voice that speaks the prompts; the bare card may be for one
# program at a time.
_SHARED = ("default", "pipewire", "pulse")


class Sink(Protocol):
    """Something that takes samples as fast as they are heard."""

    def write(self, samples: array[int], *, rate: int, channels: int) -> None:
        """Take samples; returns when there is room for more. Raises PortFault."""

    def rest(self) -> None:
        """Nothing will come for some time."""

    def close(self) -> None:
        """Let go."""


class Card:
    """The sound card; ``device`` None: the one that the system plays by default."""

    def __init__(self, device: str | None = None) -> None:
        try:
            import sounddevice
        except ImportError as error:
            raise PortFault(f"the talking book needs {error.name}; install it: {INSTALL}") from None
        except OSError:
            raise PortFault(
                "the talking book needs the library PortAudio; install it: "
                "sudo apt install libportaudio2"
            ) from None
        self._sounddevice = sounddevice
        self._device = device if device is not None else self._shared()
        self._stream: Any = None
        self._format = (0, 0)

    def write(self, samples: array[int], *, rate: int, channels: int) -> None:
        """Take samples; returns when there is room for more. Raises PortFault."""
        try:
            if self._stream is None or self._format != (rate, channels):
                self.rest()
                self._stream = self._sounddevice.RawOutputStream(
                    samplerate=rate,
                    channels=channels,
                    dtype="int16",
                    device=self._device,
                    latency=LATENCY_S,
                )
                self._stream.start()
                self._format = (rate, channels)
            self._stream.write(samples.tobytes())
        except (self._sounddevice.PortAudioError, ValueError) as error:
            raise PortFault(
                f"the talking book can't be heard through the sound card ({error}); "
                "`aplay -l` lists the cards"
            ) from None

    def rest(self) -> None:
        """Give the card back, so that others may have it."""
        if self._stream is not None:
            self._stream.close(ignore_errors=True)
            self._stream = None

    def close(self) -> None:
        """Let go."""
        self.rest()

    def _shared(self) -> str | int | None:
        devices = self._sounddevice.query_devices()
        found = {d["name"]: i for i, d in enumerate(devices) if d["max_output_channels"] > 0}
        if not found:
            raise PortFault(
                "the talking book finds no sound card; `aplay -l` lists the cards, and a table "
                "[talk] is for units that have one"
            )
        return next((found[name] for name in _SHARED if name in found), None)


class WavFile:
    """Keeps what would be heard, as fast as it would be heard.

    Where a file has another rate or other channels than the one before, the rest goes to
    ``name-2.wav`` and so on, since a WAV file has but one of each.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._number = 0
        self._format = (0, 0)
        self._file: wave.Wave_write | None = None
        self._due_s: float | None = None  # when what has been written is over

    def write(self, samples: array[int], *, rate: int, channels: int) -> None:
        """Take samples; returns when they would nearly have been heard. Raises PortFault."""
        now_s = time.monotonic()
        self._due_s = max(self._due_s or now_s, now_s - 1) + len(samples) / channels / rate
        try:
            if self._file is None or self._format != (rate, channels):
                self._begin(rate, channels)
            assert self._file is not None
            self._file.writeframesraw(samples.tobytes())
        except OSError as error:
            raise PortFault(f"{self._path} can't be written: {error.strerror}") from None
        time.sleep(max(0.0, self._due_s - time.monotonic() - LATENCY_S))

    def rest(self) -> None:
        """Nothing is written for a silence."""
        self._due_s = None

    def close(self) -> None:
        """Complete the file."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def _begin(self, rate: int, channels: int) -> None:
        self.close()
        self._number += 1
        path = self._path
        if self._number > 1:
            path = path.with_stem(f"{path.stem}-{self._number}")
        self._file = wave.open(str(path), "wb")  # noqa: SIM115 - open until close()
        self._file.setframerate(rate)
        self._file.setnchannels(channels)
        self._file.setsampwidth(2)
        self._format = (rate, channels)
