"""The red terminal's way out: every cell that leaves is red or black.

With ``line`` the only module that touches what Textual marks as internal (line filters, the
driver, ``_display``): the minor version is pinned, and the tests walk all that it can draw.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import traceback
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, suppress
from functools import lru_cache
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Literal

from rich.color import Color, ColorType
from rich.segment import Segment
from rich.style import Style
from textual.app import App, ReturnType
from textual.drivers.linux_driver import LinuxDriver
from textual.filter import LineFilter

from drivers.places import run_folder
from ui.terminal.backlight import Panel, PanelFault
from ui.terminal.console import RedPalette, depth_of, erase, kind_of, load, red_sgr
from ui.terminal.line import RedDriver, line_number
from ui.terminal.tones import DARK, LEVELS, RGB, Depth, blend, shade

if TYPE_CHECKING:
    from rich.console import RenderableType
    from textual.color import Color as TextualColor
    from textual.driver import Driver
    from textual.screen import Screen

BLACK: RGB = (0, 0, 0)
USUAL_INK: RGB = (224, 224, 224)  # where a widget asks for the terminal's own foreground
DIM_SHARE = 0.66
LOG, LONGEST_LOG_BYTES = "terminal.log", 262_144
LEAVING = (signal.SIGTERM, signal.SIGHUP)

# What a terminal would draw in colours of its own. Reverse, dim and conceal are resolved first.
PLAIN = Style(dim=False, reverse=False, conceal=False, blink=False, blink2=False)
PLAINER = PLAIN + Style(bold=False, italic=False, underline=False, underline2=False)
FEW = (Depth.RAMP, Depth.TWO)  # here bold, italics and underlines too are shown by colour


class RedFilter(LineFilter):
    """Makes all segments red on black, told in the way of ``depth``, at ``percent`` brightness.

    It never changes: strips keep what a filter made of them, by the filter itself.
    """

    def __init__(self, depth: Depth, percent: int) -> None:
        super().__init__()
        self.depth = depth
        self.percent = percent

    def apply(self, segments: list[Segment], background: TextualColor) -> list[Segment]:
        """Give the segments with explicit red inks and grounds."""
        behind = _rgb(background.rich_color, BLACK)
        depth, percent = self.depth, self.percent
        return [
            Segment(text, None, control)
            if control
            else Segment(text, _reddened(style or _NULL, behind, depth, percent))
            for text, style, control in segments
        ]


_NULL = Style.null()


@lru_cache(8192)
def _reddened(style: Style, behind: RGB, depth: Depth, percent: int) -> Style:
    ink, ground = _rgb(style.color, USUAL_INK), _rgb(style.bgcolor, behind)
    if style.reverse:
        ink, ground = ground, ink
    if style.dim:
        ink = blend(ink, ground, DIM_SHARE)
    if style.conceal:
        ink = ground
    told = shade(ink, ground, depth, percent, bold=bool(style.bold))
    colours = Style(color=_colour(told.ink, depth), bgcolor=_colour(told.ground, depth))
    plain = PLAINER if depth in FEW else PLAIN
    # Without a link there is no link id, by which hovered links are styled after all filters.
    return (style + plain + colours).update_link(None)


@lru_cache(1024)
def _colour(number: int, depth: Depth) -> Color:
    if depth is Depth.FULL:
        return Color.from_rgb(number, 0, 0)
    kind = ColorType.EIGHT_BIT if depth is Depth.CUBE else ColorType.STANDARD
    return Color(f"color({number})", kind, number=number)


def _rgb(colour: Color | None, otherwise: RGB) -> RGB:
    if colour is None or colour.is_default:
        return otherwise
    red, green, blue = colour.get_truecolor()
    return red, green, blue


class RedApp(App[ReturnType]):
    """An App whose every cell is red or black, and that leaves the terminal as it found it.

    ``brightness`` is an index of ``LEVELS``. ``panel`` is switched off with the curtain.
    ``curtain_down`` is true from the moment at which nothing lit is sent any more;
    ``curtain_trouble`` says why the curtain was not confirmed. What went wrong is written to
    ``log_file``, by default ``terminal.log`` in the run-time folder.
    """

    def __init__(
        self,
        *,
        brightness: int = len(LEVELS) - 1,
        panel: Panel | None = None,
        log_file: Path | None = None,
    ) -> None:
        super().__init__()
        self.brightness = min(max(brightness, 0), len(LEVELS) - 1)
        self.panel = panel
        self._log_file = log_file
        self.curtain_down = False
        self.curtain_trouble = ""
        self.fault: BaseException | None = None
        self._faults: IO[str] | None = None  # None: what standard error is then
        self._kind = kind_of(os.environ)
        self._depth = depth_of(self._kind, self.console.color_system)
        self._held: list[Callable[[], None]] = []
        self._drawn = False  # has anything been drawn yet?
        self._red = self._filter()

    # -- colours -----------------------------------------------------------------------------

    def _filter(self) -> RedFilter:
        depth = Depth.FULL if self.is_headless else self._depth
        if self.curtain_down:
            return RedFilter(depth, DARK)
        # The ramp is dimmed in the palette, where no step is lost.
        return RedFilter(depth, 100 if depth is Depth.RAMP else LEVELS[self.brightness])

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Put the red filter behind all others."""
        return [*super().get_line_filters(), self._red]

    def _build_driver(self, *args: Any, **options: Any) -> Driver:
        driver = super()._build_driver(*args, **options)
        self._red = self._filter()
        return driver

    def get_driver_class(self) -> type[Driver]:
        """Give the driver that knows what has arrived, if no other was asked for."""
        usual = super().get_driver_class()
        return RedDriver if usual is LinuxDriver else usual

    def step_brightness(self) -> int:
        """Go to the next brightness (after the brightest comes the darkest); give its index."""
        self.brightness = (self.brightness + 1) % len(LEVELS)
        if not self.is_headless and self._depth is Depth.RAMP and self._driver is not None:
            self._driver.write(load(self._kind, LEVELS[self.brightness]).decode())
        self._red = self._filter()
        self.refresh()
        return self.brightness

    # -- the curtain's two strokes -------------------------------------------------------------

    def darken(self) -> None:
        """Send nothing lit from now on: the first stroke."""
        self.curtain_down = True
        self._red = self._filter()

    async def wipe(self, *, deadline_s: float) -> bool:
        """Make all cells black, the second stroke; say whether that is confirmed."""
        if self.is_headless:
            return True
        if not isinstance(self._driver, RedDriver):
            return False  # another driver: nothing tells what has arrived
        return await self._driver.deliver(self._erase(), deadline_s=deadline_s)

    def show_again(self) -> None:
        """Draw everything anew, and give the notices that came meanwhile."""
        if not self.curtain_down:
            return
        self.curtain_down = False
        self._red = self._filter()
        self.refresh(layout=True)
        held, self._held = self._held, []
        for notice in held:
            notice()

    def _erase(self) -> str:
        return erase(self._depth, os.environ.get("TERM", ""), *self.size)

    def _display(self, screen: Screen[Any], renderable: RenderableType | None) -> None:
        # Layout and callbacks go on behind the curtain; nothing of it is sent.
        if self.curtain_down:
            renderable = None
        if renderable is None or self._drawn:
            super()._display(screen, renderable)
            return
        # The very first picture is drawn while the toolkit still starts, when it holds all
        # output back: it would be thrown away, and drawn once more.
        held, self._batch_count = self._batch_count, 0
        try:
            super()._display(screen, renderable)
        finally:
            self._drawn, self._batch_count = True, held

    def on_resize(self) -> None:
        """Blacken what a larger window brings while the curtain is down."""
        if self.curtain_down and not self.is_headless and self._driver is not None:
            self._driver.write(self._erase())

    def notify(
        self,
        message: str,
        *,
        title: str = "",
        severity: Literal["information", "warning", "error"] = "information",
        timeout: float | None = None,
        markup: bool = True,
    ) -> None:
        """Show a notice; behind the curtain it waits, so that it is not missed."""

        def show() -> None:
            super(RedApp, self).notify(
                message, title=title, severity=severity, timeout=timeout, markup=markup
            )

        if self.curtain_down:
            self._held.append(show)
        else:
            show()

    def action_suspend_process(self) -> None:
        """Stay: the shell behind is not red."""

    # -- the end -------------------------------------------------------------------------------

    def crash_sentence(self, fault: BaseException, log: Path) -> str:
        """Give the one sentence that is shown when this program has failed."""
        told = str(fault).splitlines() or [""]
        what = f"{type(fault).__name__}: {told[0]}" if told[0] else type(fault).__name__
        return f"The terminal had to stop by a fault of its own ({what}); details are in {log}."

    def _handle_exception(self, error: Exception) -> None:
        self._return_code = 1
        self.fault = self.fault or error
        if self._exception is None:  # Pilot raises it again
            self._exception = error
            self._exception_event.set()
        traceback.print_exception(error, file=self._faults)
        self._close_messages_no_wait()

    def panic(self, *renderables: RenderableType) -> None:
        """Stop; what would be shown in colours is kept as plain text, without any."""
        from rich.console import Console

        self._return_code = 1
        self.fault = self.fault or sys.exception() or RuntimeError("panic")
        Console(file=self._faults, color_system=None, width=100).print(*renderables)
        self._close_messages_no_wait()

    def _fatal_error(self) -> None:
        self.panic(traceback.format_exc())

    def _print_error_renderables(self) -> None:
        self._exit_renderables.clear()

    # -- a whole run ---------------------------------------------------------------------------

    def run(self, **options: Any) -> ReturnType | None:
        """Run on this terminal, as ``App.run``; ``return_code`` is then the exit code.

        0 after it was left, by SIGTERM or SIGHUP too; 1 after a fault of the program, of which
        one sentence is shown (``crash_sentence``) and the rest is written to the log.
        """
        log = self._log_file or run_folder() / LOG
        with _kept(log) as self._faults, redirect_stderr(self._faults):
            try:
                result = super().run(**options)
            except Exception as error:
                result, self.fault, self._return_code = None, self.fault or error, 1
                traceback.print_exception(error, file=self._faults)
        if self.fault is not None:
            line = line_number()
            sentence = self.crash_sentence(self.fault, log)
            if os.isatty(line):
                sentence = f"{red_sgr(self._depth)}{sentence}\x1b[0m"
            with suppress(OSError):
                os.write(line, f"{sentence}\n".encode())
        return result

    async def run_async(self, **options: Any) -> ReturnType | None:
        """Run as ``App.run_async``, within the red palette, and leave when told by a signal."""
        if options.get("headless"):
            return await super().run_async(**options)
        loop = asyncio.get_running_loop()
        for number in LEAVING:
            loop.add_signal_handler(number, self.exit)
        palette = RedPalette(line_number(), self._kind, self._depth, LEVELS[self.brightness])
        try:
            with palette:
                result = await super().run_async(**options)
                palette.wiped = self.curtain_down
                return result
        finally:
            if self.panel is not None:
                with suppress(PanelFault):
                    self.panel.restore()
            for number in LEAVING:
                loop.remove_signal_handler(number)


def _kept(log: Path) -> IO[str]:
    """Open the log, begun anew when it has grown long; only the user may read it."""
    with suppress(OSError):
        if log.stat().st_size > LONGEST_LOG_BYTES:
            log.unlink()
    try:
        fd = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC, 0o600)
    except OSError:  # a full disk is no reason for darkness
        fd = os.open(os.devnull, os.O_WRONLY | os.O_CLOEXEC)
    return os.fdopen(fd, "w", buffering=1, encoding="utf-8", errors="backslashreplace")
