"""The microphone: sound in blocks, through sounddevice (PortAudio).

Opening a sound card may take long, so whoever must not wait lets a thread do it
(``drivers.engine_notes``).
"""

from __future__ import annotations

import sys
from typing import Any, Protocol

from controller.ports import PortFault
from controller.trays.notes import RATE_HZ

BLOCK_S = 0.1
INSTALL = f"{sys.executable} -m pip install sounddevice"


class Recorder(Protocol):
    """Something that hears. It is opened anew for each note."""

    def open(self) -> None:
        """Begin to hear. Raises PortFault."""

    def read(self) -> bytes:
        """Wait for the next block: 16 bits, one channel, ``RATE_HZ``. Raises PortFault."""

    def close(self) -> None:
        """Hear no more."""


class Microphone:
    """The sound card's microphone; ``device`` empty: the one that the system has by default."""

    def __init__(self, device: str = "") -> None:
        self._device = device or None
        self._stream: Any = None
        self._fault: type[Exception] = OSError

    def open(self) -> None:
        """Begin to hear. Raises PortFault."""
        try:
            import sounddevice
        except ImportError as error:
            raise PortFault(f"spoken notes need {error.name}; install it: {INSTALL}") from None
        except OSError:
            raise PortFault(
                "spoken notes need the library PortAudio; install it: "
                "sudo apt install libportaudio2"
            ) from None
        self._fault = sounddevice.PortAudioError
        try:
            self._stream = sounddevice.RawInputStream(
                samplerate=RATE_HZ, channels=1, dtype="int16", device=self._device
            )
            self._stream.start()
        except (sounddevice.PortAudioError, ValueError) as error:
            self._stream = None
            raise PortFault(
                f"the microphone can't be heard ({error}); `arecord -l` lists those there are, "
                "and [notes] microphone names one"
            ) from None

    def read(self) -> bytes:
        """Wait for the next block. Raises PortFault."""
        try:
            samples, _ = self._stream.read(round(RATE_HZ * BLOCK_S))
        except self._fault as error:
            raise PortFault(f"the microphone is not heard any more ({error})") from None
        return bytes(samples)

    def close(self) -> None:
        """Hear no more."""
        if self._stream is not None:
            self._stream.close(ignore_errors=True)
            self._stream = None
