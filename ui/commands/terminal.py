"""``dryside`` with no command: the red terminal."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from controller.errors import BadInput
from drivers.places import config_folder, run_folder
from ui import show
from ui.unit import Unit, configured, unit_for


def open_terminal(rig: str | None = None, settings: Sequence[str] = ()) -> None:
    """Open the terminal, on the configured rig or an imagined one. Raises BadInput.

    What can be seen to be wrong is said before anything is painted.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        right = "a terminal to be at; dryside unit run is the unit without one"
        raise BadInput("this is a pipe or a file", "terminal", right)
    if rig is not None or settings:
        unit_for(rig, settings)  # who names a rig has loaded the words of the command line anyway
    from ui.terminal.app import Terminal
    from ui.terminal.preferences import Preferences

    def load() -> Unit:
        return unit_for(rig, settings)

    preferences = Preferences.read(config_folder())
    if preferences.notice:
        show.note(preferences.notice)
    terminal = Terminal(load, run_folder(), preferences)
    terminal.run()
    if terminal.unusable is not None:
        raise terminal.unusable
    if terminal.return_code:
        sys.exit(terminal.return_code)


def start_without_words() -> None:
    """Open the terminal where there is one; else make the demonstration strip."""
    if sys.stdin.isatty() and sys.stdout.isatty():
        if not configured():
            show.note("no rig file yet: this runs on the simulator")
        open_terminal()
    else:
        from ui.commands.strip import demonstrate

        demonstrate()
