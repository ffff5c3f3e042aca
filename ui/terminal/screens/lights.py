"""The room: every light that paper can see, as it really is."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from controller.rig.lights import lights_of
from ui.terminal.screens.base import RoomScreen

KNOWN = {True: "on", False: "off", None: "unknown"}
CAUTION = (
    "No light here is proved yet; a fog test comes later. This screen is a light too: black on a "
    "liquid-crystal panel leaks white, and half a metre from paper it can fog within seconds. "
    "Lay a deep red sheet over it or use an emissive display, tilt it away, keep it far, and "
    "let its backlight go off while paper is out (backlight_off = true in terminal.toml). "
    "In the dark: know where the trays, the steps and the hot lamp are."
)


class LightsScreen(RoomScreen):
    """Where the lights are seen."""

    NAME = "room"
    HELP_TEXT = (
        "Every light that paper can see: the enlarger's lamp, the safelights, other lights, and "
        "this screen. The state is what the keeper measured, and unknown where it is unknown. "
        "Dark in: its afterglow. Fails to: what it does when all else has failed."
    )

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the cautions."""
        table: DataTable[str] = DataTable(id="lights-table", cursor_type="none", show_cursor=False)
        table.can_focus = False  # nothing to choose: enter stays the pedal
        yield table
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Make the columns."""
        table = self.query_one(DataTable)
        table.add_columns("light", "kind", "is", "switched", "dark in", "fails to")
        super().on_mount()

    def show_room(self) -> None:
        """Show each light."""
        table = self.query_one(DataTable)
        if not table.columns:
            return
        table.clear()
        lit = self.link.view.lit
        for light in lights_of(self.link.unit.rig):
            state = KNOWN[lit[light.name]] if light.name in lit else light.otherwise
            table.add_row(
                light.name, light.kind, state, light.switched, light.dark_in, light.failing
            )
        level = self.terminal.brightness + 1
        table.add_row(
            "this screen", "screen", f"brightness {level}", "curtain", "at once", "as it is"
        )
