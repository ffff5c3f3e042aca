"""The talking book: what is played, how it gives way, and how it ends."""

from __future__ import annotations

import math
import os
import signal
import sys
import time
import wave
from array import array
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import islice, takewhile
from pathlib import Path

import pytest
import soundfile

from controller.ports import Cue, PortFault, Sound
from controller.rig.file import imagined_rig, load_rig, with_settings
from controller.rig.talk import TalkingFolder
from drivers import talk_sinks
from drivers.engine import Engine
from drivers.engine_words import Play, Talk
from drivers.places import book_path, room_path, run_folder
from drivers.talk import NONE, TalkingBook
from drivers.talk_core import DOWN_S, UP_S, Level, Place, Prompts, read_places
from drivers.talk_files import (
    BLOCK_S,
    Ahead,
    Block,
    Read,
    Unplayable,
    audio_files,
    read_blocks,
)
from drivers.talk_process import Player, main
from drivers.talk_sinks import LATENCY_S, WavFile
from drivers.talk_words import Halt, Lower, Resume, Skip
from tests.drivers.unit_on_bench import QUICK, is_alive, unit

RATE = 8000
PEAK = 16000


def tone(path: Path, seconds: float, *, rate: int = RATE, channels: int = 1) -> Path:
    """Write a steady tone of half the full loudness."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with soundfile.SoundFile(path, "w", rate, channels) as file:
        peak = PEAK / 32768
        one = [peak * math.sin(2 * math.pi * 500 * i / rate) for i in range(int(seconds * rate))]
        # as whole numbers libsndfile 1.2.2 garbles MP3 of two channels
        samples = array("f", [x for x in one for _ in range(channels)])
        file.buffer_write(samples, dtype="float32")
    return path


def loudest(samples: array[int]) -> int:
    return max(map(abs, samples), default=0)


# -- files -----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["wav", "mp3", "flac", "ogg"])
@pytest.mark.parametrize("channels", [1, 2])
def test_every_kind_is_heard_whole(kind: str, channels: int, tmp_path: Path) -> None:
    """A file of each kind has all its frames, at its own loudness from beginning to end."""
    name = tone(tmp_path / f"a.{kind}", 1.0, rate=44100, channels=channels).name
    blocks = [
        b for b in islice(read_blocks(tmp_path, [name], Place(name)), 90) if isinstance(b, Block)
    ]
    assert {(b.rate, b.channels, b.frames) for b in blocks} == {(44100, channels, 441)}
    assert [b.place.at_s for b in blocks] == pytest.approx([i * BLOCK_S for i in range(90)])
    assert all(0.9 * PEAK < loudest(b.samples) < 1.1 * PEAK for b in blocks[2:])


@pytest.mark.parametrize("kind", ["wav", "mp3", "flac", "ogg"])
def test_a_place_in_the_middle_is_gone_to(kind: str, tmp_path: Path) -> None:
    """From a place on, exactly what was left of the file is heard, then the next file."""
    first = tone(tmp_path / f"a.{kind}", 1.0).name
    second = tone(tmp_path / "b.wav", 0.1).name
    blocks = read_blocks(tmp_path, [first, second], Place(first, 0.6))
    rest = list(takewhile(lambda b: isinstance(b, Block) and b.place.name == first, blocks))
    assert sum(b.frames for b in rest if isinstance(b, Block)) == int(0.4 * RATE)
    # a decoder needs some blocks after a jump
    assert all(isinstance(b, Block) and loudest(b.samples) > 0.9 * PEAK for b in rest[10:])


def test_files_of_real_numbers_are_not_silent(tmp_path: Path) -> None:
    """A WAV file of floating-point samples is as loud as one of whole ones."""
    with soundfile.SoundFile(tmp_path / "a.wav", "w", RATE, 1, subtype="FLOAT") as file:
        file.buffer_write(array("f", [0.5, -0.25, 1.5, -2.0]), dtype="float32")
    block = next(read_blocks(tmp_path, ["a.wav"], Place("a.wav")))
    assert isinstance(block, Block)
    assert block.samples.tolist() == [16384, -8192, 32767, -32767]


def test_of_many_channels_the_front_ones_are_heard(tmp_path: Path) -> None:
    """Of six channels the first two are kept, each in its place."""
    samples = array("h", [i * 10 + channel for i in range(80) for channel in range(6)])
    with soundfile.SoundFile(tmp_path / "a.wav", "w", RATE, 6) as file:
        file.buffer_write(samples, dtype="int16")
    block = next(read_blocks(tmp_path, ["a.wav"], Place("a.wav")))
    assert isinstance(block, Block)
    assert block.channels == 2
    assert block.samples == array("h", [i * 10 + channel for i in range(80) for channel in (0, 1)])


def test_what_cannot_be_played_is_passed_over(tmp_path: Path) -> None:
    """A spoilt and an empty file cost one sentence each; the next is heard."""
    (tmp_path / "a.wav").write_bytes(b"nonsense")
    tone(tmp_path / "b.wav", 0.0)
    tone(tmp_path / "c.wav", 0.1)
    reads = list(islice(read_blocks(tmp_path, ["a.wav", "b.wav", "c.wav"], Place("a.wav")), 3))
    assert [r.name for r in reads[:2] if isinstance(r, Unplayable)] == ["a.wav", "b.wav"]
    assert isinstance(reads[2], Block)


def test_nothing_but_spoilt_files_ends(tmp_path: Path) -> None:
    """A folder of which no file can be played ends with a sentence, not in a circle."""
    for name in ("a.wav", "b.wav"):
        (tmp_path / name).write_bytes(b"nonsense")
    last = list(read_blocks(tmp_path, ["a.wav", "b.wav"], Place("b.wav", 3.0)))[-1]
    assert last == Unplayable("", f"not one of the files in {tmp_path} can be played")


def test_folders_are_walked(tmp_path: Path) -> None:
    """Files in folders below count too; no folder and an empty one are told apart."""
    with pytest.raises(PortFault, match="holds no audio files; wav, mp3, flac and ogg"):
        audio_files(tmp_path)
    with pytest.raises(PortFault, match="there is no folder"):
        audio_files(tmp_path / "away")
    tone(tmp_path / "CD 2" / "1.wav", 0.1)
    tone(tmp_path / "CD 1" / "2.wav", 0.1)
    assert audio_files(tmp_path) == ["CD 1/2.wav", "CD 2/1.wav"]


def test_a_reader_that_fails_is_not_waited_for() -> None:
    """Whatever goes wrong in the thread arrives as the end of the book."""

    def spoilt() -> Iterator[Read]:
        yield Unplayable("a", "a")
        raise KeyError("b")

    ahead = Ahead(spoilt())
    assert ahead.next(5.0) == Unplayable("a", "a")
    assert ahead.next(5.0) == Unplayable("", "the talking book can't be read: KeyError('b')")


# -- the player ------------------------------------------------------------------------------


class Endless:
    """A source of full-scale blocks, ten to a file."""

    def __init__(self, place: Place) -> None:
        self.at = place

    def next(self, wait_s: float) -> Read:
        place, self.at = self.at, Place(self.at.name, self.at.at_s + BLOCK_S)
        return Block(place, RATE, 1, array("h", [10000]) * int(RATE * BLOCK_S))

    def close(self) -> None:
        pass


class Ear:
    """A sink that remembers."""

    def __init__(self) -> None:
        self.heard: array[int] = array("h")
        self.rests = 0

    def write(self, samples: array[int], *, rate: int, channels: int) -> None:
        self.heard.extend(samples)

    def rest(self) -> None:
        self.rests += 1

    def close(self) -> None:
        pass


def player(ear: Ear, kept: list[Place]) -> Player:
    return Player(
        ["a", "b"],
        Place("a", 1.0),
        level=Level(loud=1.0, low=0.1),
        sink=ear,
        open_at=Endless,
        keep=kept.append,
    )


def steps(playing: Player, seconds: float) -> None:
    for _ in range(round(seconds / BLOCK_S)):
        playing.step()


def test_a_duck_is_low_within_50_ms() -> None:
    """A block, the fade and what the card has not yet played are less than 50 ms together."""
    ear = Ear()
    playing = player(ear, [])
    playing.hear(Resume())
    steps(playing, 1.0)
    playing.hear(Lower(0.5))
    steps(playing, 2.0)
    low = [i / RATE - 1.0 for i, x in enumerate(ear.heard) if i > RATE and x == 1000]
    assert BLOCK_S + low[0] + LATENCY_S < 0.05
    assert low[-1] == pytest.approx(0.5, abs=0.002)
    assert ear.heard[int((1.5 + UP_S) * RATE) + 2] == 10000


def test_a_pause_keeps_the_place_and_gives_the_card_back() -> None:
    """After the fade nothing is played, the card rests, and the place is where it stopped."""
    ear, kept = Ear(), []
    playing = player(ear, kept)
    assert not playing.sounding
    playing.hear(Resume())
    steps(playing, 1.0)
    playing.hear(Halt())
    while playing.sounding:
        playing.step()
    heard_s = len(ear.heard) / RATE
    assert 1.0 + DOWN_S <= heard_s <= 1.0 + DOWN_S + BLOCK_S
    assert ear.heard[-1] == 0
    assert ear.rests == 1
    assert kept == [Place("a", pytest.approx(1.0 + heard_s))]


def test_next_goes_to_the_next_file() -> None:
    """It begins at its beginning, and the place says so at once."""
    kept: list[Place] = []
    playing = player(Ear(), kept)
    playing.hear(Skip())
    assert playing.place == Place("b")
    playing.hear(Skip())
    playing.close()
    assert kept[-1] == Place("a")


def test_a_wav_file_for_each_format(tmp_path: Path) -> None:
    """What would be heard is kept whole; another rate or channels begin another file."""
    sink = WavFile(tmp_path / "out.wav")
    sink.write(array("h", [1, 2, 3, 4]), rate=RATE, channels=2)
    sink.rest()
    sink.write(array("h", [5, 6]), rate=RATE, channels=2)
    sink.write(array("h", [7]), rate=RATE, channels=1)
    sink.close()
    found = {}
    for path in tmp_path.iterdir():
        with wave.open(str(path)) as file:
            frames = array("h", file.readframes(file.getnframes()))
            found[path.name] = (file.getnchannels(), frames.tolist())
    assert found == {"out.wav": (2, [1, 2, 3, 4, 5, 6]), "out-2.wav": (1, [7])}


# -- the process -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        ("soundfile", "the talking book needs soundfile; install it: "),
        ("sounddevice", "the talking book needs sounddevice; install it: "),
    ],
)
def test_what_is_missing_is_told(
    missing: str,
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Without a library it ends with one sentence that says how to get it."""
    tone(tmp_path / "a.wav", 0.1)
    monkeypatch.setitem(sys.modules, missing, None)
    monkeypatch.setattr(signal, "signal", lambda *_: None)
    assert main(["--folder", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert told.startswith(said)
    assert told.strip().endswith("-m pip install soundfile sounddevice")
    assert told.count("\n") == 1


def test_no_sound_card_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing can play, the sentence says how to look for cards."""

    class Deaf:
        @staticmethod
        def query_devices() -> list[dict[str, object]]:
            return [{"name": "a microphone", "max_output_channels": 0}]

    monkeypatch.setitem(sys.modules, "sounddevice", Deaf)
    with pytest.raises(PortFault, match="finds no sound card; `aplay -l` lists"):
        talk_sinks.Card()


@contextmanager
def aloud(tmp_path: Path, folder: Path, starts: str = "by-itself") -> Iterator[TalkingBook]:
    run = tmp_path / "run"
    run.mkdir(exist_ok=True)
    settings = TalkingFolder.model_validate(
        {"folder": str(folder), "volume": 0.8, "under_prompts": 0.25, "starts": starts}
    )
    talking = TalkingBook(
        settings,
        run,
        places=tmp_path / "talk.json",
        prompts=Prompts(speaks=True),
        options=["--sink", str(tmp_path / "out.wav")],
    )
    try:
        yield talking
    finally:
        talking.close()


def until(so: Callable[[], bool], wait_s: float = 20.0) -> None:
    end_s = time.monotonic() + wait_s
    while not so():
        assert time.monotonic() < end_s, "waited in vain"
        time.sleep(0.01)


def size(tmp_path: Path) -> float:
    """Tell how many seconds have been heard so far (bytes of a file that is being written)."""
    out = tmp_path / "out.wav"
    return (out.stat().st_size - 44) / 2 / RATE if out.exists() else 0.0


def levels(tmp_path: Path) -> list[float]:
    """Give the loudest of each 10 ms of what was heard, as a gain."""
    with wave.open(str(tmp_path / "out.wav")) as file:
        heard = array("h", file.readframes(file.getnframes()))
    return [loudest(heard[i : i + 80]) / PEAK for i in range(0, len(heard) - 80, 80)]


@pytest.mark.real
def test_it_gives_way_to_a_prompt_and_comes_back(tmp_path: Path) -> None:
    """Heard in a file: full, then down within two blocks, a quarter for its time, full again."""
    tone(tmp_path / "book" / "a.wav", 30.0)
    with aloud(tmp_path, tmp_path / "book") as talking:
        until(lambda: size(tmp_path) > 1.0)
        talking.under(Cue(sound=Sound.TICK))
        before = size(tmp_path)
        until(lambda: size(tmp_path) > before + 2.5)
    heard = levels(tmp_path)
    low = [i for i, gain in enumerate(heard) if gain == pytest.approx(0.2, abs=0.01) and i > 70]
    low_s = Prompts(speaks=False).heard_s(Cue(sound=Sound.TICK), 0.0)
    middle = range(low[0], low[0] + round(low_s * 100) - 3)
    assert all(heard[i] == pytest.approx(0.2, abs=0.01) for i in middle)
    assert heard[low[0] - 4] == pytest.approx(0.8, abs=0.01)
    assert max(heard[low[-1] :]) == pytest.approx(0.8, abs=0.01)
    with wave.open(str(tmp_path / "out.wav")) as file:
        kept = read_places((tmp_path / "talk.json").read_text())
        assert kept[str(tmp_path / "book")] == Place(
            "a.wav", pytest.approx(file.getnframes() / RATE, abs=0.001)
        )


@pytest.mark.real
def test_the_place_is_kept_over_the_night(tmp_path: Path) -> None:
    """A second evening begins where the first ended; when asked only, where that is set."""
    book = tmp_path / "book"
    tone(book / "a.wav", 30.0)
    for evening in range(1, 3):
        with aloud(tmp_path, book, "when-asked") as talking:
            time.sleep(0.05)
            assert size(tmp_path) == 0
            talking.play()
            until(lambda: size(tmp_path) > 0.5)
        place = read_places((tmp_path / "talk.json").read_text())[str(book)]
        assert 0.5 * evening <= place.at_s
        (tmp_path / "out.wav").unlink()


def notices(talking: TalkingBook) -> list[str]:
    told: list[str] = []
    until(lambda: bool(told.extend(talking.notices()) or told))
    time.sleep(0.1)
    return told + talking.notices()


def process_with(*words: str) -> int:
    """Give the process whose command line has these words, as the kernel lists it."""
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):  # it may end while it is looked at
            line = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            if all(word in line for word in words):
                return int(folder.name)
    raise AssertionError(f"nothing runs with {words}")


@pytest.mark.real
def test_a_player_that_dies_is_told_once_and_started_when_asked(tmp_path: Path) -> None:
    """Killed, it is not started in a loop; one sentence; the printer's own wish starts it."""
    tone(tmp_path / "book" / "a.wav", 30.0)
    with aloud(tmp_path, tmp_path / "book") as talking:
        until(lambda: size(tmp_path) > 0.1)
        os.kill(process_with("drivers.talk_process", f"--folder {tmp_path}"), signal.SIGKILL)
        (sentence,) = notices(talking)
        assert sentence.startswith("the talking book has stopped by itself; ")
        talking.duck(1.0)
        talking.pause()
        assert talking.notices() == []
        (tmp_path / "out.wav").unlink()
        talking.play()
        until(lambda: size(tmp_path) > 0.1)


@pytest.mark.real
def test_a_folder_that_is_gone_costs_one_sentence(tmp_path: Path) -> None:
    """The player's own reason is told, and nothing after it."""
    with aloud(tmp_path, tmp_path / "away") as talking:
        assert notices(talking) == [
            f"there is no folder {tmp_path / 'away'}; give [talk] one that holds audio files"
        ]


@pytest.mark.real
def test_the_engine_asks_lowers_and_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The terminal's wish turns it on and off, what is sounded lowers it, its end is told."""
    asked: list[object] = []
    monkeypatch.setattr(TalkingBook, "_say", lambda _self, message: asked.append(message))
    monkeypatch.setattr(TalkingBook, "_start", lambda _self: None)
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    rig = load_rig("tungsten", ["talk.folder=/b", "talk.starts=when-asked"])
    engine = Engine(rig, run=run_folder(), book=book_path(), room=room_path(), linger_s=0.0)
    try:
        engine._client_says(0, Talk(True))
        engine._client_says(0, Talk(False))
        engine._client_says(0, Play(Sound.GO.value))
        assert asked[:2] == [Resume(), Halt()]
        assert isinstance(asked[2], Lower)
        engine._talk._notices.append("the card is gone")
        engine._take_book()
        assert "the card is gone" in engine._notes
    finally:
        engine.close()
    assert len(asked) == 4  # the notice was a cue of its own


@pytest.mark.real
def test_a_unit_without_a_book_says_so(tmp_path: Path) -> None:
    """Asked to play where the rig has no [talk], the unit answers, and goes on working."""
    with unit(tmp_path) as bench:
        bench.client.send(Talk(True))
        bench.until(lambda: any(cue.text == NONE for cue in bench.cues))
        assert is_alive(bench.engine_pid)


@pytest.mark.real
def test_a_book_that_cannot_be_heard_costs_a_sentence(tmp_path: Path) -> None:
    """A unit whose talking book has no folder tells it and is there all the same."""
    settings = (*QUICK, f"talk.folder={tmp_path / 'away'}")
    with unit(tmp_path, settings) as bench:
        bench.client.send(Talk(True))
        bench.until(lambda: any("there is no folder" in cue.text for cue in bench.cues))
        assert is_alive(bench.engine_pid)


def test_a_rig_without_a_book_is_silent(tmp_path: Path) -> None:
    """Nothing is started for a rig without [talk], and asking for it is answered."""
    talking = TalkingBook.of(imagined_rig("tungsten"), tmp_path, tmp_path)
    talking.under(Cue("Ready.", Sound.GO))
    talking.turn(on=False)
    assert talking.notices() == []
    talking.turn(on=True)
    assert talking.notices() == [NONE]
    talking.close()
    assert list(tmp_path.iterdir()) == []


def test_the_rigs_volume_is_what_the_player_gets(tmp_path: Path) -> None:
    """Under prompts the share of the volume is left; the folder may begin at home."""
    rig = with_settings(
        imagined_rig("tungsten"),
        [
            *("talk.folder=~/book", "talk.volume=0.5", "talk.under_prompts=0.5"),
            "talk.starts=when-asked",
        ],
    )
    talking = TalkingBook.of(rig, tmp_path, tmp_path)
    command = talking._command
    assert command[command.index("--volume") + 1] == "0.5"
    assert command[command.index("--ducked") + 1] == "0.25"
    assert command[command.index("--folder") + 1] == str(Path("~/book").expanduser())
    assert list(tmp_path.iterdir()) == []
