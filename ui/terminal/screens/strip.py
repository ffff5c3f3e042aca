"""The strip: a form that shows the plan as it is typed, refusals in place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Grid, Vertical
from textual.widgets import Input, Label, Select, Static

from controller.desk.asked import Asked, strip_asked, typed
from controller.desk.orders import Order
from controller.errors import DrysideError
from controller.stops import format_time
from controller.strips.strip import Strip, obstacle, pulses_of, require
from ui.terminal.screens.base import RoomScreen
from ui.terminal.widgets.strip_drawing import StripDrawing

WAYS = (("card", "card"), ("window", "window"), ("same spot", "same-spot"))
SIDES = tuple((side, side) for side in ("left", "right", "top", "bottom"))
LIGHTS = (("as they are", "as-they-are"), ("off", "off"))


class StripScreen(RoomScreen):
    """Where a strip is laid out."""

    NAME = "strip"
    HELP_TEXT = (
        "Type the strip that you want; it is drawn to scale as you type, and what the lamp cannot "
        "do is refused here, with what would work. It lies ready on the bench at once. "
        "Seconds: 8, 8.5, 1m30. Step: 1/3 (stops), 2s, or 25%. Advance: empty waits for the "
        "pedal, 6s goes on by itself. d asks which tones a measured paper will give. ctrl+s makes "
        "it; escape leaves a field."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "make it", id="strip.make"),
        Binding("d", "app.page('tones')", "tones to come", id="strip.tones"),
        Binding("escape", "leave_field", "leave the field", id="strip.leave", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._filled = False

    def compose_room(self) -> ComposeResult:
        """Lay out the form over the drawing."""
        with Grid(id="form"):
            yield Label("base")
            yield Input(id="base", compact=True)
            yield Label("step")
            yield Input(id="step", compact=True)
            yield Label("patches")
            yield Input(id="patches", compact=True)
            yield Label("way")
            yield Select(WAYS, id="mode", allow_blank=False, compact=True)
            yield Label("A at")
            yield Select(SIDES, id="side", allow_blank=False, compact=True)
            yield Label("advance")
            yield Input(id="advance", compact=True, placeholder="by pedal")
            yield Label("lens")
            yield Input(id="aperture", compact=True, placeholder="aperture")
            yield Label("filter")
            yield Input(id="filter", compact=True)
            yield Label("safelights")
            yield Select(LIGHTS, id="safelights", allow_blank=False, compact=True)
            yield Label("size mm")
            yield Input(id="size", compact=True)
            yield Label("place")
            yield Input(id="place", compact=True, placeholder="on print")
            yield Label("over")
            yield Input(id="over", compact=True, placeholder="00=8.2s first")
        with Vertical(id="drawing-box"):
            yield StripDrawing(id="drawing")
            yield Static("", id="told", markup=False)

    def show_room(self) -> None:
        """Fill the form once the desk is known."""
        desk = self.link.desk
        if desk is not None and not self._filled:
            self._fill(typed(desk.strip))
            self._filled = True
        self._judge()

    def _fill(self, asked: Asked) -> None:
        with self.prevent(Input.Changed, Select.Changed):
            for name in (
                "base",
                "step",
                "patches",
                "advance",
                "aperture",
                "filter",
                "place",
                "size",
            ):
                self.query_one(f"#{name}", Input).value = getattr(asked, name) or ""
            self.query_one("#over", Input).value = ", ".join(asked.over)
            for name in ("mode", "side", "safelights"):
                self.query_one(f"#{name}", Select).value = getattr(asked, name)

    def _asked(self) -> Asked:
        texts: dict[str, Any] = {
            name: self.query_one(f"#{name}", Input).value.strip()
            for name in ("base", "step", "patches", "aperture", "filter", "place", "size")
        }
        chosen: dict[str, Any] = {
            name: str(self.query_one(f"#{name}", Select).value)
            for name in ("mode", "side", "safelights")
        }
        advance = self.query_one("#advance", Input).value.strip() or None
        over = self.query_one("#over", Input).value.split(",")
        chosen["over"] = tuple(part.strip() for part in over if part.strip())
        # what the form has no field for (a contact sheet's purpose) stays as it was
        desk = self.link.desk
        before = typed(desk.strip) if desk is not None else Asked()
        return replace(before, **texts, **chosen, advance=advance)

    def _judge(self) -> Strip | None:
        """Draw what is typed; give the strip if it can be made."""
        rig = self.link.unit.rig
        told = self.query_one("#told", Static)
        drawing = self.query_one("#drawing", StripDrawing)
        try:
            desk = self.link.desk
            strip = strip_asked(self._asked(), rig, desk.strip if desk else None)
        except DrysideError as error:
            told.update(str(error).replace("--", ""))
            told.set_class(True, "-refused")
            return None
        made = self.link.desk.made if self.link.desk else None
        same = made is not None and made.strip == strip
        coming = {} if same else self.terminal.expected.patches(strip)
        drawing.show(strip, self.link.densities if same else coming, expected=not same)
        why = obstacle(strip, rig.calibration(), rig.limits())
        told.set_class(why is not None, "-refused")
        if why is not None:
            try:
                require(strip, rig.calibration(), rig.limits())
            except DrysideError as error:
                told.update(str(error))
            return None
        total_s = sum(pulses_of(strip))
        told.update(
            f"{format_time(total_s)} of light in {strip.patches} exposures; "
            "it lies ready on the bench (ctrl+s makes it)"
            + (f"\n(0.00): as {self.terminal.expected.handle} is to take it" if coming else "")
        )
        return strip

    def on_input_changed(self) -> None:
        """Judge what is typed, and lay it ready."""
        self._lay_ready()

    def on_select_changed(self) -> None:
        """Judge what is chosen, and lay it ready."""
        self._lay_ready()

    def _lay_ready(self) -> None:
        if not self._filled:
            return
        strip = self._judge()
        desk = self.link.desk
        if strip is not None and desk is not None and strip != desk.strip:
            self.link.arrange(desk.model_copy(update={"strip": strip}))

    def action_make(self) -> None:
        """Make it, and go to the bench."""
        if self._judge() is not None:
            self.link.order(Order.STRIP.value)
            self.terminal.action_room("bench")

    def action_leave_field(self) -> None:
        """Leave the field, so that the keys of the room are heard again."""
        self.set_focus(None)

    def on_input_submitted(self) -> None:
        """Go on to the next field."""
        self.focus_next()

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        yield SystemCommand("Make the strip", "as it is typed", self.action_make)
