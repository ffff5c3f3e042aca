"""Sounds: rhythms that can be told apart, heard at once, and never in the way."""

from __future__ import annotations

import os
import pty
import queue
import sys
import threading
import time
from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path

import pytest

from controller.ports import PortFault, Sound
from drivers import sounder
from drivers.buzzer import Buzzer, Piezo
from drivers.pins_mock import mock_factory
from drivers.rhythms import FLEETING, RHYTHMS, URGENCY, Note, Rhythm, as_bells
from drivers.sounder import Bell, Player, Silent, Turn
from drivers.speech import Speech

MUTE = {"speech": False}
MOCK = {"library": "mock", "address": 12, **MUTE}


@pytest.fixture(autouse=True)
def board() -> Iterator[None]:
    yield
    mock_factory().reset()


# --- rhythms --------------------------------------------------------------------------------


def onsets_ms(rhythm: Rhythm) -> list[int]:
    at_ms = [0]
    for note in rhythm:
        at_ms.append(at_ms[-1] + note.on_ms + note.off_ms)
    return at_ms[:-1]


@pytest.mark.parametrize(
    "pair", list(combinations(Sound, 2)), ids=lambda p: f"{p[0].name}-{p[1].name}"
)
def test_sounds_are_told_apart_by_rhythm_alone(pair: tuple[Sound, Sound]) -> None:
    """Any two sounds differ in how many notes they have, or in one's length by 2.5 times."""
    one, other = (RHYTHMS[sound] for sound in pair)
    ratios = [max(a.on_ms / b.on_ms, b.on_ms / a.on_ms) for a, b in zip(one, other, strict=False)]
    assert len(one) != len(other) or max(ratios) >= 2.5


@pytest.mark.parametrize(
    "pair",
    list(combinations([Sound.GO, Sound.END, Sound.ATTENTION, Sound.FAULT, Sound.PAUSED], 2)),
)
def test_bells_too_tell_the_basic_sounds_apart(pair: tuple[Sound, Sound]) -> None:
    """On a bell without length go, end, attention, paused and fault ring at different times."""
    one, other = (onsets_ms(as_bells(RHYTHMS[sound])) for sound in pair)
    assert len(one) != len(other) or any(abs(a - b) >= 100 for a, b in zip(one, other, strict=True))


def test_every_sound_is_short_and_ends_silent() -> None:
    """Every sound has a rhythm under two seconds, and a rank."""
    for sound in Sound:
        assert 0 < sum(note.on_ms + note.off_ms for note in RHYTHMS[sound]) <= 2000
        assert sound in URGENCY


# --- whose turn -----------------------------------------------------------------------------


def drained(turn: Turn) -> list[Sound]:
    found = []
    while (sound := turn.next()) is not None:
        found.append(sound)
    return found


def test_urgent_sounds_interrupt() -> None:
    """A fault interrupts everything; nothing lesser interrupts a fault."""
    for sound in Sound:
        turn = Turn()
        assert turn.offer(sound) is False
        assert turn.next() is sound
        assert turn.offer(Sound.FAULT) is True
        assert turn.next() is Sound.FAULT
        if sound is not Sound.FAULT:
            assert turn.offer(sound) is False


def test_the_newer_of_equals_is_heard() -> None:
    """Of two equally urgent sounds that wait only the newer is played; a lesser one follows."""
    turn = Turn()
    for sound in (Sound.ATTENTION, Sound.GO, Sound.END):
        turn.offer(sound)
    assert drained(turn) == [Sound.END, Sound.ATTENTION]


@pytest.mark.parametrize("sound", sorted(FLEETING, key=lambda each: each.value))
def test_what_would_be_untrue_later_is_not_told(sound: Sound) -> None:
    """A tick or a press that cannot be sounded at once is dropped, in play or in waiting."""
    turn = Turn()
    turn.offer(Sound.FAULT)
    turn.next()
    turn.offer(sound)
    assert drained(turn) == []
    turn.offer(sound)
    turn.offer(Sound.FAULT)
    assert drained(turn) == [Sound.FAULT]


# --- the player -----------------------------------------------------------------------------


class Ear:
    """A voice that hears itself."""

    def __init__(self, fault: Exception | None = None) -> None:
        self.heard: queue.Queue[tuple[str, int]] = queue.Queue()
        self.fault = fault

    def on(self, pitch_hz: int) -> None:
        if self.fault:
            raise self.fault
        self.heard.put(("on", pitch_hz))

    def off(self) -> None:
        self.heard.put(("off", 0))

    def close(self) -> None:
        self.heard.put(("close", 0))

    def next(self) -> tuple[str, int]:
        return self.heard.get(timeout=10)


def test_a_rhythm_is_played_whole() -> None:
    """Every note of a sound goes on at its pitch and off again, in order."""
    ear = Ear()
    player = Player(ear)
    player.play(Sound.GO)
    assert [ear.next() for _ in range(4)] == [("on", 1600), ("off", 0), ("on", 2000), ("off", 0)]
    player.close()
    assert [ear.next() for _ in range(2)] == [("off", 0), ("close", 0)]


def test_play_returns_at_once_and_the_newer_sound_begins() -> None:
    """A sound that would last for minutes keeps neither the caller nor a fault waiting."""
    ear = Ear()
    player = Player(ear, {Sound.END: (Note(600_000, 0, 1),), Sound.FAULT: (Note(1, 0, 2),)})
    player.play(Sound.END)
    assert ear.next() == ("on", 1)
    player.play(Sound.FAULT)
    assert [ear.next() for _ in range(3)] == [("off", 0), ("on", 2), ("off", 0)]
    player.close()


def test_closing_cuts_a_sound_short() -> None:
    """Closing in the middle of a long note silences it."""
    ear = Ear()
    player = Player(ear, {Sound.END: (Note(600_000, 0, 1),)})
    player.play(Sound.END)
    assert ear.next() == ("on", 1)
    player.close()
    assert ear.next() == ("off", 0)
    player.play(Sound.END)  # nothing is left that could raise


@pytest.mark.parametrize("fault", [PortFault("unplugged"), OSError(5, "gone")])
def test_a_broken_voice_falls_silent(fault: Exception, caplog: pytest.LogCaptureFixture) -> None:
    """A voice that fails is closed and noted once; whoever plays hears of nothing."""
    ear = Ear(fault)
    player = Player(ear)
    player.play(Sound.GO)
    assert [ear.next() for _ in range(2)] == [("off", 0), ("close", 0)]
    player.play(Sound.GO)
    player.close()
    assert len(caplog.records) == 1
    assert "the sounder has fallen silent" in caplog.text


# --- drivers --------------------------------------------------------------------------------


@pytest.mark.parametrize("active", ["high", "low"])
def test_buzzer_is_silent_until_asked(active: str) -> None:
    """An active buzzer is claimed silent, sounds at its own level, and is left silent."""
    loud = int(active == "high")
    buzzer = Buzzer.open({**MOCK, "active": active})
    pin = mock_factory().pin(12)
    assert [int(each.state) for each in pin.states] == [1 - loud]
    buzzer.play(Sound.GO)
    wait_until(lambda: len(pin.states) >= 5)
    buzzer.close()
    assert [int(each.state) for each in pin.states] == [1 - loud, *[loud, 1 - loud] * 2]


def test_piezo_swings_at_the_notes_pitch() -> None:
    """A piezo is given the pitch of each note, and is left low and still."""
    piezo = Piezo.open(MOCK)
    pin = mock_factory().pin(12)
    assert [each.state for each in pin.states] == [0]
    piezo.play(Sound.END)
    wait_until(lambda: pin.frequency is not None)
    assert pin.frequency == 1200
    piezo.close()
    assert pin.frequency is None
    assert [each.state for each in pin.states] == [0, 0.5, 0]


def wait_until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not true() and time.monotonic() < end:
        time.sleep(0.002)
    assert true()


def test_bell_rings_a_terminal() -> None:
    """The bell character, and nothing else, is written to the terminal that was named."""
    near, far = pty.openpty()
    try:
        bell = Bell.open({"tty": os.ttyname(far), **MUTE})
        bell.play(Sound.ATTENTION)
        heard = b""
        while len(heard) < 3:
            heard += os.read(near, 100)
        bell.close()
        assert heard == b"\a\a\a"
    finally:
        os.close(near)
        os.close(far)


def test_silent_and_a_bell_without_terminal_say_nothing() -> None:
    """Where nothing can be heard every sound is taken and nothing happens."""
    for mute in (Silent.open({"speech": True}), Bell.open(MUTE)):
        mute.play(Sound.FAULT)
        mute.say("hello")
        assert not {each.name for each in threading.enumerate()} & {"sounder", "speech"}
        mute.close()


@pytest.mark.parametrize(
    ("driver", "options", "sentence"),
    [
        (Bell, {"tty": "/nowhere/tty"}, "tty = '/nowhere/tty' cannot be opened (No such file"),
        (Bell, {"tty": os.devnull}, f"tty = '{os.devnull}' is not a terminal"),
        (Bell, {"tty": 1}, "tty = 1 is not a terminal; write its path"),
        (Bell, {"speach": True}, "the driver 'bell' has no option 'speach'; did you mean 'speech'"),
        (Silent, {"volume": 3}, "the driver 'silent' has no option 'volume'; it knows speech"),
        (Bell, {"speech": "yes"}, "speech = 'yes' is neither true nor false"),
        (Bell, {"voice": "-f/etc/passwd"}, "voice = '-f/etc/passwd' is not a voice"),
        (Bell, {"words_per_minute": 9}, "words_per_minute = 9: give a whole number from 80"),
        (Buzzer, {"library": "mock"}, "the sounder 'buzzer' needs address, a GPIO number"),
        (Buzzer, {**MOCK, "active": "hot"}, "active = 'hot' is not a level; write 'high' or"),
        (Piezo, {**MOCK, "address": 99}, "there is no gpio 99 here; choose one of 0 to 27"),
        (Piezo, {**MOCK, "voice": ""}, "voice = '' is not a voice"),
    ],
)
def test_bad_options(
    driver: type[Bell] | type[Buzzer], options: dict[str, object], sentence: str
) -> None:
    """A wrong option is refused with one sentence, and no line is kept."""
    with pytest.raises(PortFault) as caught:
        driver.open(options)
    assert str(caught.value).startswith(sentence)
    assert not mock_factory().pin(12).held


def test_two_sounders_on_one_line() -> None:
    """A line that is in use is refused with its holder."""
    first = Buzzer.open(MOCK)
    with pytest.raises(PortFault, match="gpio 12 for the piezo is held by another part"):
        Piezo.open(MOCK)
    first.close()


# --- speech ---------------------------------------------------------------------------------


@pytest.fixture
def talker(tmp_path: Path) -> str:
    """Give a program that writes down what it is told, then waits for leave to end."""
    program = tmp_path / "talker"
    program.write_text(
        f"#!{sys.executable}\n"
        "import pathlib, sys, time\n"
        f"folder = pathlib.Path({str(tmp_path)!r})\n"
        "text = sys.stdin.read()\n"
        "with (folder / 'said').open('a') as said:\n"
        "    said.write(' '.join(sys.argv[1:]) + ': ' + text + '\\n')\n"
        "while not (folder / 'leave').exists():\n"
        "    time.sleep(0.005)\n"
    )
    program.chmod(0o755)
    return str(program)


def said(tmp_path: Path) -> list[str]:
    path = tmp_path / "said"
    return path.read_text().splitlines() if path.exists() else []


def test_a_newer_text_replaces_one_not_begun(tmp_path: Path, talker: str) -> None:
    """One text is spoken at a time; of those that wait only the newest is spoken."""
    speech = Speech(talker, voice="en", words_per_minute=160)
    speech.say("one")
    wait_until(lambda: len(said(tmp_path)) == 1)
    for text in ("two", "-h three", "  ", "-h four\n"):
        speech.say(text)
    (tmp_path / "leave").touch()
    wait_until(lambda: len(said(tmp_path)) == 2)
    speech.close()
    assert said(tmp_path) == ["-v en -s 160 --stdin: one", "-v en -s 160 --stdin: -h four"]


def test_closing_stops_a_text(tmp_path: Path, talker: str) -> None:
    """Closing ends the program that speaks, and its thread."""
    speech = Speech(talker)
    speech.say("a long story")
    wait_until(lambda: len(said(tmp_path)) == 1)
    speech.close()
    assert not any(each.name == "speech" for each in threading.enumerate())
    speech.say("more")
    assert len(said(tmp_path)) == 1


def test_a_missing_program_is_silence(tmp_path: Path) -> None:
    """Where nothing can speak, saying something is neither an error nor a wait."""
    Speech(None).say("hello")
    speech = Speech(str(tmp_path / "nothing"))
    speech.say("hello")
    wait_until(lambda: not any(each.name == "speech" for each in threading.enumerate()))
    speech.say("again")
    speech.close()


def test_speech_is_off_by_option(monkeypatch: pytest.MonkeyPatch) -> None:
    """With speech = false the program is not even looked for."""
    monkeypatch.setattr(sounder, "installed", lambda: pytest.fail("it was looked for"))
    sounder.open_speech(MUTE).say("hello")
