"""The room: every light that paper can see, as it really is."""

from __future__ import annotations

import asyncio
from datetime import datetime
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Static

from controller.errors import DrysideError
from controller.rig.lights import lights_of
from ui.terminal.screens.base import RoomScreen

if TYPE_CHECKING:
    from controller.rig.model import Rig
    from controller.room.overview import Overview

KNOWN = {True: "on", False: "off", None: "unknown"}
CAUTION = (
    "A light is proved by a fog test (dryside room test). This screen is a light too: black on a "
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
        "Safe: how long paper may lie at the easel under it alone, by the rule that is named. "
        "Fails to: what it does when all else has failed."
    )

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the cautions."""
        table: DataTable[str] = DataTable(id="lights-table", cursor_type="none", show_cursor=False)
        table.can_focus = False  # nothing to choose: enter stays the pedal
        yield table
        yield Static("", id="safe-now", classes="heading", markup=False)
        yield Static("", id="advice", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static(CAUTION, classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Make the columns."""
        table = self.query_one(DataTable)
        table.add_columns("light", "kind", "is", "safe", "switched", "fails to")
        super().on_mount()

    def __init__(self) -> None:
        super().__init__()
        self._safe: dict[str, str] = {}

    def show_room(self) -> None:
        """Show each light, and look beside the screen what is known of it."""
        self._list()
        self.beside(self._look, group="known")

    async def _look(self) -> None:
        rig, lit = self.link.unit.rig, dict(self.link.view.lit)
        try:
            found = await asyncio.to_thread(_known, rig, lit)
        except DrysideError as error:
            self.query_one("#safe-now", Static).update(str(error))
            return
        self.query_one("#safe-now", Static).update(found.now)
        self.query_one("#advice", Static).update("\n".join(found.advice))
        if found.safe != self._safe:
            self._safe = found.safe
            self._list()

    def _list(self) -> None:
        table = self.query_one(DataTable)
        if not table.columns:
            return
        table.clear()
        lit = self.link.view.lit
        for light in lights_of(self.link.unit.rig):
            state = KNOWN[lit[light.name]] if light.name in lit else light.otherwise
            table.add_row(
                light.name,
                light.kind,
                state,
                self._safe.get(light.name, ""),
                light.switched,
                light.failing,
            )
        level = self.terminal.brightness + 1
        table.add_row("this screen", "screen", f"level {level}", "", "curtain", "as it is")


def _known(rig: Rig, lit: dict[str, bool | None]) -> Overview:
    """Read the room, and look it over: for a thread. Raises BadInput."""
    from controller.room.model import Place
    from controller.room.overview import overview
    from ui.rooms import open_room

    today = datetime.now().astimezone().date()
    return overview(open_room(rig), lit, at=Place.EASEL, today=today)
