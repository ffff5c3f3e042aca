"""What can be heard: rhythms played by a thread, so that asking for one takes no time.

Options that every sounder takes: ``speech`` (true), ``voice`` ("en") and ``words_per_minute``
(160). The terminal's bell takes ``tty`` too.
"""

from __future__ import annotations

import contextlib
import logging
import os
import threading
from collections.abc import Mapping
from typing import Protocol

from controller.ports import PortFault, Sound, Sounder
from drivers.pins import check_options
from drivers.rhythms import FLEETING, RHYTHMS, URGENCY, Rhythm, as_bells
from drivers.speech import Speech, installed

_log = logging.getLogger(__name__)

SPEECH_OPTIONS = ("speech", "voice", "words_per_minute")
_WIRED = ("address", "active")  # where a sounder hangs; no matter to those that do not

_APART_S = 0.1  # silence after a rhythm, so that two are not heard as one
_BREAK_S = 0.02  # silence where a rhythm was interrupted


class Voice(Protocol):
    """Something that can be on or off."""

    def on(self, pitch_hz: int) -> None:
        """Begin a tone. Raises PortFault or OSError."""

    def off(self) -> None:
        """Be silent."""

    def close(self) -> None:
        """Let go."""


class Turn:
    """Whose turn it is. Pure: one sound in play, and one waiting for each urgency."""

    def __init__(self) -> None:
        self.playing: Sound | None = None
        self._waiting: dict[int, Sound] = {}

    def offer(self, sound: Sound) -> bool:
        """Take a sound; True when the one in play must yield to it."""
        urgency = URGENCY[sound]
        if self.playing is not None and urgency < URGENCY[self.playing]:
            if sound not in FLEETING:
                self._waiting[urgency] = sound
            return False
        self._waiting[urgency] = sound
        return self.playing is not None

    def next(self) -> Sound | None:
        """Give the most urgent that waits, and put it in play."""
        self.playing = None
        if self._waiting:
            self.playing = self._waiting.pop(max(self._waiting))
            self._waiting = {u: s for u, s in self._waiting.items() if s not in FLEETING}
        return self.playing


class Player:
    """Plays rhythms with a voice, in a thread of its own; never waits, never raises."""

    def __init__(self, voice: Voice, rhythms: Mapping[Sound, Rhythm] = RHYTHMS) -> None:
        self._voice = voice
        self._rhythms = rhythms
        self._turn = Turn()
        self._news = threading.Condition()
        self._yield = False
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="sounder", daemon=True)
        self._thread.start()

    def play(self, sound: Sound) -> None:
        """Begin a sound and return at once; a more urgent one in play is not disturbed."""
        with self._news:
            self._yield = self._turn.offer(sound) or self._yield
            self._news.notify()

    def close(self) -> None:
        """Be quiet, at once."""
        with self._news:
            self._closed = True
            self._news.notify()
        self._thread.join(1.0)

    # -- in the thread -----------------------------------------------------------------------

    def _run(self) -> None:
        try:
            while (sound := self._wait_for_sound()) is not None:
                self._perform(self._rhythms[sound])
        except (PortFault, OSError) as error:
            _log.warning("the sounder has fallen silent: %s", error)
        finally:
            try:
                self._voice.off()
                self._voice.close()
            except (PortFault, OSError) as error:
                _log.warning("the sounder was not closed: %s", error)

    def _wait_for_sound(self) -> Sound | None:
        with self._news:
            while not self._closed:
                self._yield = False
                sound = self._turn.next()
                if sound is not None:
                    return sound
                self._news.wait()
            return None

    def _perform(self, rhythm: Rhythm) -> None:
        for note in rhythm:
            self._voice.on(note.pitch_hz)
            going_on = self._pass(note.on_ms / 1000)
            self._voice.off()
            if not going_on:
                self._pass(_BREAK_S, yields=False)
                return
            if note.off_ms and not self._pass(note.off_ms / 1000):
                return
        self._pass(_APART_S)

    def _pass(self, seconds: float, *, yields: bool = True) -> bool:
        """Let time pass; False when another sound must be heard first."""
        with self._news:
            return not self._news.wait_for(
                lambda: self._closed or (yields and self._yield), timeout=seconds
            )


class Speaking:
    """A Sounder: rhythms, where there is a voice for them, and speech."""

    def __init__(self, player: Player | None, speech: Speech) -> None:
        self._player = player
        self._speech = speech

    def play(self, sound: Sound) -> None:
        """Begin a sound and return at once."""
        if self._player is not None:
            self._player.play(sound)

    def say(self, text: str) -> None:
        """Begin to speak and return at once."""
        self._speech.say(text)

    def close(self) -> None:
        """Be quiet."""
        if self._player is not None:
            self._player.close()
        self._speech.close()


class Bell:
    """The driver "bell" of the group ``dryside.sounders``; the class itself is the driver.

    It rings the bell of the terminal at ``tty`` ("/dev/tty1"); without one there is only speech.
    A bell knows no length, so that a tick and a press are alike.
    """

    @staticmethod
    def open(options: Mapping[str, object]) -> Sounder:
        """Open the terminal. Raises PortFault."""
        check_options(options, ("tty", *SPEECH_OPTIONS, *_WIRED), "bell")
        speech = open_speech(options)
        tty = options.get("tty")
        if tty is None:
            return Speaking(None, speech)
        bells = {sound: as_bells(rhythm) for sound, rhythm in RHYTHMS.items()}
        return Speaking(Player(_BellVoice(tty), bells), speech)


class Silent:
    """The driver "silent" of the group ``dryside.sounders``; the class itself is the driver."""

    @staticmethod
    def open(options: Mapping[str, object]) -> Sounder:
        """Neither sound nor speech. Raises PortFault for an option that does not exist."""
        check_options(options, (*SPEECH_OPTIONS, *_WIRED), "silent")
        return Speaking(None, Speech(None))


class _BellVoice:
    """A terminal's bell."""

    def __init__(self, tty: object) -> None:
        if not isinstance(tty, str):
            raise PortFault(f"tty = {tty!r} is not a terminal; write its path, such as '/dev/tty1'")
        try:
            self._fd = os.open(tty, os.O_WRONLY | os.O_NOCTTY | os.O_NONBLOCK)
        except OSError as error:
            raise PortFault(
                f"tty = {tty!r} cannot be opened ({error.strerror}); give the path of a terminal "
                "that you may write to, or leave tty out"
            ) from error
        if not os.isatty(self._fd):
            os.close(self._fd)
            raise PortFault(f"tty = {tty!r} is not a terminal; give the path of one, or leave it")

    def on(self, pitch_hz: int) -> None:  # noqa: ARG002 - a bell has its own pitch
        # when its output was stopped: a bell rung later would be untrue
        with contextlib.suppress(BlockingIOError):
            os.write(self._fd, b"\a")

    def off(self) -> None:
        pass  # it ends by itself

    def close(self) -> None:
        os.close(self._fd)


def open_speech(options: Mapping[str, object]) -> Speech:
    """Open the speech that the options describe. Raises PortFault."""
    wanted = options.get("speech", True)
    if not isinstance(wanted, bool):
        raise PortFault(f"speech = {wanted!r} is neither true nor false")
    voice = options.get("voice", "en")
    if not isinstance(voice, str) or not voice or voice.startswith("-"):
        raise PortFault(f"voice = {voice!r} is not a voice; espeak-ng --voices lists them")
    speed = options.get("words_per_minute", 160)
    if isinstance(speed, bool) or not isinstance(speed, int) or not 80 <= speed <= 450:
        raise PortFault(f"words_per_minute = {speed!r}: give a whole number from 80 to 450")
    return Speech(installed() if wanted else None, voice=voice, words_per_minute=speed)
