"""The talking book's arithmetic: order, place, loudness, and how long a prompt is heard."""

from __future__ import annotations

import shutil
import subprocess
import wave
from array import array
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.ports import Cue, Sound
from drivers.rhythms import RHYTHMS
from drivers.talk_core import (
    AFTER_S,
    DOWN_S,
    UP_S,
    Level,
    Piece,
    Place,
    Prompts,
    following,
    in_order,
    read_places,
    resume,
    scaled,
    spoken_s,
    written,
)

RATE = 8000
NAMES = st.lists(
    st.from_regex(r"[a-cA-C0-9²٣_-]{1,4}(/[a-c0-9]{1,2})?\.(mp3|wav|flac|ogg)", fullmatch=True),
    min_size=1,
    max_size=12,
    unique=True,
)


def test_numbers_count_as_numbers() -> None:
    """The tenth chapter comes after the second, in every folder, whatever the letters' size."""
    names = ["10.mp3", "2.MP3", "CD2/01.ogg", "CD1/11.ogg", "cd1/9.ogg", "B.flac", "a.wav"]
    assert in_order(names) == [
        *("2.MP3", "10.mp3", "a.wav", "B.flac", "cd1/9.ogg", "CD1/11.ogg", "CD2/01.ogg")
    ]


def test_what_is_no_sound_is_left_out() -> None:
    """Pictures, texts and hidden files are not played."""
    assert in_order(["cover.jpg", "1.mp3", "._1.mp3", ".trash/2.mp3", "mp3"]) == ["1.mp3"]


@settings(deadline=None)
@given(NAMES, st.randoms())
def test_the_order_is_the_names_own(names: list[str], random: object) -> None:
    """In whatever order a folder is listed, it is heard in the same one, and nothing is lost."""
    shuffled = list(names)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert in_order(shuffled) == in_order(names)
    assert sorted(in_order(names)) == sorted(names)


@settings(deadline=None)
@given(NAMES)
def test_going_round_hears_each_file_once(names: list[str]) -> None:
    """From any file on, the whole folder is heard before that file comes again."""
    ordered = in_order(names)
    heard = [ordered[-1]]
    while len(heard) < len(ordered):
        heard.append(following(ordered, heard[-1]))
    assert sorted(heard) == sorted(ordered)
    assert following(ordered, heard[-1]) == ordered[-1]


@settings(deadline=None)
@given(NAMES, st.floats(0, 1e5), st.data())
def test_a_place_is_found_again(names: list[str], at_s: float, data: st.DataObject) -> None:
    """It goes on where it was; where that file is gone, with the one that followed."""
    ordered = in_order(names)
    place = Place(data.draw(st.sampled_from(ordered)), at_s)
    assert resume(ordered, place) == place
    left = [name for name in ordered if name != place.name]
    if left:
        assert resume(left, place) == Place(following(ordered, place.name), 0.0)
    assert resume(ordered, None) == Place(ordered[0])


@given(st.dictionaries(st.text(max_size=9), st.builds(Place, st.text(), st.floats(0, 1e6))))
def test_places_are_read_as_they_were_written(places: dict[str, Place]) -> None:
    """What is kept over the night is the same to a millisecond, for every folder."""
    again = read_places(written(places))
    assert {f: p.name for f, p in again.items()} == {f: p.name for f, p in places.items()}
    assert all(abs(again[f].at_s - p.at_s) <= 0.001 for f, p in places.items())


@pytest.mark.parametrize("text", ["", "[", "[]", '{"a": 1}', '{"a": {"file": 1}}', "[" * 10**5])
def test_a_spoilt_file_of_places_is_none(text: str) -> None:
    """A file that is not understood costs the place, and nothing else."""
    assert read_places(text) == {}


@pytest.mark.parametrize("at_s", ["-1", "NaN", "Infinity", '"3"'])
def test_no_place_is_before_the_beginning(at_s: str) -> None:
    """A time that no file has is not a place."""
    assert read_places(f'{{"a": {{"file": "1.mp3", "at_s": {at_s}}}}}') == {}


# -- loudness --------------------------------------------------------------------------------


def gains(level: Level, frames: int, block: int = 80) -> list[float]:
    heard: list[float] = []
    while len(heard) < frames:
        for piece in level.take(min(block, frames - len(heard)), RATE):
            heard += [piece.gain + i * piece.step for i in range(piece.frames)]
    return heard


def on(loud: float = 0.8, low: float = 0.1) -> Level:
    level = Level(loud=loud, low=low)
    level.turn(on=True)
    gains(level, int(UP_S * RATE) + 1)
    return level


@settings(deadline=None)  # a busy machine is no fault
@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.1, 3), st.integers(1, 500))
def test_a_duck_goes_down_and_comes_back(
    loud: float, share: float, for_s: float, block: int
) -> None:
    """It is low within the fade, stays low for its time, and is loud again a fade later."""
    low = loud * share
    level = on(loud, low)
    assert gains(level, 10) == pytest.approx([loud] * 10)
    level.duck(for_s)
    heard = gains(level, int((for_s + UP_S) * RATE) + 2, block)
    down = int(DOWN_S * RATE) + 1
    assert heard[down : int(for_s * RATE)] == [low] * (int(for_s * RATE) - down)
    assert gains(level, 10) == pytest.approx([loud] * 10)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(["on", "off", "duck"]), st.integers(1, 6000)), max_size=12),
    st.integers(1, 400),
)
def test_nothing_ever_clicks(orders: list[tuple[str, int]], block: int) -> None:
    """Whatever is asked, the gain changes by less than a fade's step, and stays in its bounds."""
    level = Level(loud=0.9, low=0.2)
    heard = [0.0]
    for order, frames in orders:
        match order:
            case "duck":
                level.duck(frames / RATE)
            case _:
                level.turn(on=order == "on")
        heard += gains(level, frames, block)
    steps = [b - a for a, b in pairwise(heard)]
    assert all(-1 / (DOWN_S * RATE) - 1e-9 <= s <= 1 / (UP_S * RATE) + 1e-9 for s in steps)
    assert all(-1e-9 <= gain <= 0.9 + 1e-9 for gain in heard)


def test_a_second_duck_makes_it_longer_only() -> None:
    """A shorter one while it is low takes nothing away."""
    level = on()
    level.duck(1.0)
    gains(level, RATE // 10)
    level.duck(0.2)
    assert gains(level, RATE // 2)[-1] == 0.1
    assert gains(level, RATE)[-1] == 0.8


def test_off_is_silence_and_on_comes_back() -> None:
    """A pause fades out and is then silent for good, and going on fades in again."""
    level = on()
    assert not level.silent
    level.turn(on=False)
    assert not level.silent
    assert gains(level, int(DOWN_S * RATE) + 1)[-1] == pytest.approx(0.0, abs=0.01)
    assert level.silent
    assert gains(level, RATE) == [0.0] * RATE
    level.turn(on=True)
    assert gains(level, int(UP_S * RATE) + 2)[-1] == 0.8


SAMPLES = st.lists(st.integers(-32768, 32767), min_size=2, max_size=60).map(
    lambda x: array("h", x[: len(x) // 2 * 2])
)


@given(SAMPLES, st.sampled_from([0.0, 0.125, 0.8, 1.0]), st.sampled_from([1, 2]))
def test_samples_are_multiplied(samples: array[int], gain: float, channels: int) -> None:
    """Each sample is its gain's share of itself, to a step of 65536 and a half."""
    out = scaled(samples, channels, [Piece(len(samples) // channels, gain)])
    assert len(out) == len(samples)
    assert all(abs(y - x * gain) < 1.5 for x, y in zip(samples, out, strict=True))


@given(SAMPLES)
def test_both_channels_of_a_frame_have_one_gain(samples: array[int]) -> None:
    """In a fade left and right are as loud as each other."""
    frames = len(samples) // 2
    out = scaled(samples, 2, [Piece(frames, 1.0, -1 / frames)])
    for i in range(frames):
        gain = 1.0 + i * (-1 / frames)
        assert out[2 * i] == int(samples[2 * i] * gain)
        assert out[2 * i + 1] == int(samples[2 * i + 1] * gain)


# -- prompts ---------------------------------------------------------------------------------


@given(st.sampled_from(Sound), st.text(max_size=80), st.floats(0, 1e6))
def test_it_is_low_for_as_long_as_something_is_heard(sound: Sound, text: str, at_s: float) -> None:
    """Sound and speech begin together; it stays low to the end of the longer one."""
    for_s = Prompts(speaks=True).heard_s(Cue(text=text, sound=sound), at_s)
    rhythm_s = sum(note.on_ms + note.off_ms for note in RHYTHMS[sound]) / 1000
    speech_s = spoken_s(text) if text.strip() else 0.0
    assert for_s == pytest.approx(max(rhythm_s + AFTER_S, speech_s))


def test_ticks_find_it_evenly_low() -> None:
    """Between two ticks a second apart it does not come up."""
    for sound in (Sound.TICK, Sound.LAST_TICK):
        assert Prompts(speaks=False).heard_s(Cue(sound=sound), 0.0) > 1.0


def test_where_nothing_is_heard_nothing_is_lowered() -> None:
    """A text where there is no speech, and an empty cue, leave it as it is."""
    assert Prompts(speaks=False).heard_s(Cue(text="Tap when the paper is in."), 0.0) == 0
    assert Prompts(speaks=True).heard_s(Cue(text="  "), 0.0) == 0


def test_a_text_waits_for_the_one_before() -> None:
    """Two texts at once are spoken one after the other; the second gives way to a third."""
    prompts = Prompts(speaks=True)
    first, long, short = "Patch three of seven.", "Wait until the bench is dark.", "Go."
    assert prompts.heard_s(Cue(text=first), 10.0) == pytest.approx(spoken_s(first))
    both_s = spoken_s(first) + spoken_s(long)
    assert prompts.heard_s(Cue(text=long), 10.0) == pytest.approx(both_s)
    both_s = spoken_s(first) + spoken_s(short)
    assert prompts.heard_s(Cue(text=short), 10.0) == pytest.approx(both_s)


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
@pytest.mark.parametrize(
    "text",
    [
        "Ready.",
        "K7",
        "Tap when the paper is in.",
        "Patch three of seven: eight point four seconds",
        "Paused. 12.5 seconds are left; tap to go on, hold to abandon",
        "12.5 s, 8.4 s, 16.8 s",
        "a plan is running already: dryside shows it, dryside abandon ends it",
    ],
)
@pytest.mark.parametrize("speed", [120, 160, 220])
def test_speech_is_not_longer_than_estimated(text: str, speed: int, tmp_path: Path) -> None:
    """No prompt outlasts its estimate, and none is overestimated by more than 2.5 s."""
    file = tmp_path / "said.wav"
    subprocess.run(
        ["espeak-ng", "-v", "en", "-s", str(speed), "-w", file, text], check=True, timeout=30
    )
    with wave.open(str(file)) as said:
        spoken = said.getnframes() / said.getframerate()
    assert spoken <= spoken_s(text, speed) <= spoken + 2.5
