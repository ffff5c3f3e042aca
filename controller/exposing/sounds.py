"""What the sounds mean, in words: for whoever learns them."""

from __future__ import annotations

from controller.ports import Sound

# in the order in which they are learnt: the three that carry an evening come first
MEANINGS: dict[Sound, str] = {
    Sound.GO: "it goes: keep still, light follows",
    Sound.END: "it is done: the lamp is off",
    Sound.ATTENTION: "something waits for you, or is refused",
    Sound.PRESS: "the press was felt",
    Sound.NOT_TAKEN: "the press meant nothing now; nothing was changed",
    Sound.PAUSED: "paused, the lamp is off; said again until you go on",
    Sound.RISING: "keep the foot down and this sheet is abandoned",
    Sound.TICK: "a second has passed",
    Sound.LAST_TICK: "one of the last three seconds",
    Sound.HAND_IN: "the dodging tool into the beam, now",
    Sound.HAND_OUT: "the dodging tool out of the beam, now",
    Sound.FAULT: "something failed; the lamp is put off",
}


def name_of(sound: Sound) -> str:
    """Give the sound's name as it is written."""
    return sound.value.replace("-", " ")
