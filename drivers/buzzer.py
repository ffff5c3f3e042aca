"""Buzzers on a GPIO line.

Options besides those of speech: ``address`` (a GPIO number), ``active`` ("high" or "low": the
level at which an active buzzer sounds), ``library`` and ``chip`` as for relays.
"""

from __future__ import annotations

from collections.abc import Mapping

from controller.ports import PortFault, Sounder
from drivers.pins import Busy, Pins, check_options, open_pins
from drivers.sounder import SPEECH_OPTIONS, Player, Speaking, Voice, open_speech

_OPTIONS = ("address", "active", "library", "chip", *SPEECH_OPTIONS)


class Buzzer:
    """The driver "buzzer" of the group ``dryside.sounders``: sounds while it is powered."""

    @staticmethod
    def open(options: Mapping[str, object]) -> Sounder:
        """Claim the line, silent. Raises PortFault."""
        check_options(options, _OPTIONS, "buzzer")
        loud = _loud_level(options)
        pins, gpio = _claimed(options, 1 - loud, "buzzer")
        return _sounder(_OnOff(pins, gpio, loud), options)


class Piezo:
    """The driver "piezo" of the group ``dryside.sounders``: a passive buzzer, given tones."""

    @staticmethod
    def open(options: Mapping[str, object]) -> Sounder:
        """Claim the line, silent and low. Raises PortFault."""
        check_options(options, _OPTIONS, "piezo")
        _loud_level(options)  # no matter to a piezo, but a wrong word is refused
        pins, gpio = _claimed(options, 0, "piezo")
        return _sounder(_Tones(pins, gpio), options)


class _OnOff:
    """An active buzzer: it has one pitch."""

    def __init__(self, pins: Pins, gpio: int, loud: int) -> None:
        self._pins, self._gpio, self._loud = pins, gpio, loud

    def on(self, pitch_hz: int) -> None:  # noqa: ARG002
        self._pins.write(self._gpio, self._loud)

    def off(self) -> None:
        self._pins.write(self._gpio, 1 - self._loud)

    def close(self) -> None:
        self._pins.close()


class _Tones:
    """A passive buzzer: it swings as the line does."""

    def __init__(self, pins: Pins, gpio: int) -> None:
        self._pins, self._gpio = pins, gpio

    def on(self, pitch_hz: int) -> None:
        self._pins.tone(self._gpio, pitch_hz)

    def off(self) -> None:
        self._pins.tone(self._gpio, None)

    def close(self) -> None:
        self._pins.close()


def _sounder(voice: Voice, options: Mapping[str, object]) -> Sounder:
    try:
        speech = open_speech(options)
    except PortFault:
        voice.close()
        raise
    return Speaking(Player(voice), speech)


def _claimed(options: Mapping[str, object], level: int, driver: str) -> tuple[Pins, int]:
    address = options.get("address")
    if not isinstance(address, int | str):
        raise PortFault(f"the sounder {driver!r} needs address, a GPIO number such as 12")
    pins = open_pins(options)
    try:
        gpio = pins.number(address)
        pins.claim_output(gpio, level)
    except Busy as busy:
        who = pins.who(gpio) or "another program"
        pins.close()
        raise Busy(
            f"gpio {gpio} for the {driver} is held by {who}; end that, or choose another line"
        ) from busy
    except BaseException:
        pins.close()
        raise
    return pins, gpio


def _loud_level(options: Mapping[str, object]) -> int:
    active = options.get("active", "high")
    if active not in ("high", "low"):
        raise PortFault(f"active = {active!r} is not a level; write 'high' or 'low'")
    return int(active == "high")
