"""A terminal screen that redraws as fast as it can, and pulses by asyncio in its own process.

Run by the benchmark under a pseudo-terminal: ``python -P -m ui.measure.busy_screen --fd N``.
Red on black like every screen here, though nobody sees it.
"""

from __future__ import annotations

import argparse
import asyncio
import time
from collections.abc import Sequence

from rich.text import Text
from textual.app import App, ComposeResult
from textual.widget import Widget

from ui.measure.bursts import Burst, Times, benchmark_wire, output


class Pattern(Widget):
    """Fills the screen with text that is another each time, so that every cell is sent."""

    DEFAULT_CSS = "Pattern { width: 100%; height: 100%; color: #ff0000; background: #000000; }"

    def __init__(self) -> None:
        super().__init__()
        self.redraws = 0

    def render(self) -> Text:
        """Draw the next picture."""
        self.redraws += 1
        width, height = self.size
        text = Text()
        for row in range(height):
            digits = str((self.redraws * 7919 + row * 104_729) ** 9)
            line = (digits * (width // len(digits) + 1))[:width]
            text.append(f"{line}\n", style=f"#{128 + (row + self.redraws) % 128:02x}0000")
        return text


class BusyScreen(App[None]):
    """Redraws without a pause, and makes the pulses it is asked for."""

    CSS = "Screen { background: #000000; }"
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, fd: int, pin: int | None, *, idle: bool) -> None:
        super().__init__()
        self._wire = benchmark_wire(fd)
        self._lamp = output(pin)
        self._idle = idle
        self._pattern = Pattern()
        self._burst: asyncio.Task[None] | None = None

    def compose(self) -> ComposeResult:
        """Show the pattern alone."""
        yield self._pattern

    def on_mount(self) -> None:
        """Begin to listen, and to redraw."""
        asyncio.get_running_loop().add_reader(self._wire.fileno(), self._hear)
        if not self._idle:
            self.call_after_refresh(self._again)

    def _again(self) -> None:
        self._pattern.refresh()
        self.call_after_refresh(self._again)

    def _hear(self) -> None:
        received = self._wire.receive_all()
        for burst in received.messages:
            self._burst = asyncio.create_task(self._pulses(burst))
        if received.closed:
            asyncio.get_running_loop().remove_reader(self._wire.fileno())
            self.exit()

    async def _pulses(self, burst: Burst) -> None:
        times_ns = []
        for _ in range(burst.count):
            await asyncio.sleep(burst.gap_ns / 1e9)
            self._lamp.on()
            on_ns = time.monotonic_ns()
            await asyncio.sleep(burst.on_ns / 1e9)
            self._lamp.off()
            times_ns.append(time.monotonic_ns() - on_ns)
        self._wire.send(Times(times_ns, self._pattern.redraws))


def main(arguments: Sequence[str] | None = None) -> None:
    """Show the screen until the benchmark is done."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--fd", type=int, required=True)
    parser.add_argument("--pin", type=int)
    parser.add_argument("--idle", action="store_true", help="draw once only")
    args = parser.parse_args(arguments)
    BusyScreen(args.fd, args.pin, idle=args.idle).run()


if __name__ == "__main__":
    main()
