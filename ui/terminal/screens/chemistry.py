"""Chemistry: what is known of the baths, and the cautions that belong to them."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from ui.terminal.screens.base import RoomScreen

NOTHING = "Nothing is kept of the baths yet: when they were mixed, you know."
CAUTIONS = (
    "Gloves, goggles and fresh air; tongs in the trays. Developers make skin sensitive in time.",
    "Acid into water, never water into acid. No food, no drink, no bare glass.",
    "Fixer with acid gives off sulfur dioxide; keep the air moving.",
    "Selenium toner is toxic, and is never made acid.",
    "Bleach and fixer never meet in one tray. Used fixer holds silver: give it where your local "
    "rules want it, never into a septic tank.",
    "In the eyes: rinse for a quarter of an hour, and get medical help.",
    "The maker's safety data sheet of each product comes first, and local rules with it.",
)


class ChemistryScreen(RoomScreen):
    """Where the baths are."""

    NAME = "chemistry"
    HELP_TEXT = "What is known of the baths, and the cautions that belong to them."

    def compose_room(self) -> ComposeResult:
        """Lay out the page."""
        yield Static(NOTHING, classes="heading", markup=False)
        with VerticalScroll():
            yield Static("\n" + "\n\n".join(CAUTIONS), classes="quiet", markup=False)
