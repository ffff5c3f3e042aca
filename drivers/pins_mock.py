"""Pins of gpiozero's mock: for trying a rig file, and for tests.

There is one board for the whole process, as there is one header. A line is held by whoever has
claimed it, as with the kernel, and keeps its level when it is let go of, as on a Raspberry Pi.
``pin.states`` is gpiozero's history; it begins with the claim, so its first entry is the very
first level.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from gpiozero.exc import GPIOZeroError
from gpiozero.pins.mock import MockFactory, MockPWMPin


class MockBusy(Exception):
    """The line is held already."""


class HeldPin(MockPWMPin):  # type: ignore[misc]
    """A mock pin that can be held by one claim at a time."""

    held = False

    def output_with_state(self, state: int) -> None:
        """Claim the line at this level in one step."""
        self._hold()
        self._function = "output"
        self._state = state
        self.clear_states()

    def input_with_pull(self, pull: str) -> None:
        """Claim the line as an input with its pull."""
        self._hold()
        self._function = "input"
        self.pull = pull
        self.clear_states()

    def close(self) -> None:
        """Let go of the line, as it is."""
        self.held = False
        self.when_changed = None

    def _hold(self) -> None:
        if self.held:
            raise MockBusy
        self.held = True


class HeldFactory(MockFactory):  # type: ignore[misc]
    """The mock board."""

    errors: tuple[type[Exception], ...] = (MockBusy, GPIOZeroError)

    def gpios(self) -> Sequence[int]:
        """List the lines of the header."""
        headers = self.board_info.headers.values()
        pins = [pin for header in headers for pin in header.pins.values()]
        return sorted(int(p.name.removeprefix("GPIO")) for p in pins if "gpio" in p.interfaces)

    def is_busy(self, error: Exception) -> bool:
        """Was the line held?"""
        return isinstance(error, MockBusy)

    def holder(self, gpio: int) -> str:  # noqa: ARG002
        """Only this process has the mock board."""
        return "another part of this program"

    def close(self) -> None:
        """Let the board live on for its other users; lines are freed one by one."""


@cache
def mock_factory() -> HeldFactory:
    """Give the one mock board of this process; ``reset()`` makes it as new."""
    return HeldFactory(pin_class=HeldPin)
