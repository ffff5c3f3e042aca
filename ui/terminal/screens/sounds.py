"""The sounds, to be heard and learnt: one at a time, with its meaning in words."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from controller.exposing.sounds import MEANINGS, name_of
from controller.ports import Sound
from drivers.engine_words import Play
from ui.terminal.bell import RUNG
from ui.terminal.screens.page import PageOver

WIDTH = max(len(name_of(sound)) for sound in Sound)
BELL = "This rig has only the terminal's bell: one stroke whatever the sound. Silent are: "


class SoundsScreen(PageOver):
    """Where the sounds are learnt."""

    NAME = "sounds"
    HELP_TEXT: ClassVar[str] = (
        "Every sound of the unit and what it means, the three that carry an evening first. The "
        "arrows choose, enter or a click plays it. While a plan runs they would mean something, "
        "and are not played."
    )

    def compose_room(self) -> ComposeResult:
        """Lay out the list."""
        yield Static("Sounds", classes="heading")
        yield OptionList(
            *(
                Option(f"{name_of(sound):{WIDTH}}   {meaning}", id=sound.value)
                for sound, meaning in MEANINGS.items()
            ),
            id="sounds",
            markup=False,
        )
        yield Static("", id="told", markup=False)

    def show_room(self) -> None:
        """Say what cannot be heard now."""
        told = ""
        if self.link.running:
            told = "a plan is running: its own sounds are heard, these are not"
        elif self.link.unit.rig.sounder.driver == "bell":
            told = BELL + ", ".join(name_of(s) for s in MEANINGS if s not in RUNG)
        elif self.link.unit.rig.sounder.driver == "silent":
            told = "this rig's sounder is silent"
        self.query_one("#told", Static).update(told)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Play it."""
        if event.option_id and not self.link.running:
            self.link.send(Play(event.option_id))
