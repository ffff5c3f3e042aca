"""The scores that are kept: one is opened onto the desk, or what lies ready is kept."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid
from textual.widgets import DataTable, Input, Label, Static

from controller.errors import BadInput, DrysideError
from controller.score.model import Score
from controller.score.report import ready_words
from ui.scores import keep, kept, named, open_score
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.widgets.title_table import TitleTable

BESIDE = 30  # cells that the other columns need
MOST_NAME = 20  # characters of a name that are shown
LEAVE, KEEP, AWAY = "leave", "keep", "away"


class ScoresScreen(PageOver):
    """Where scores are opened and kept."""

    NAME = "score"
    HELP_TEXT: ClassVar[str] = (
        "The scores in the folder. Enter, or a second click, lays one ready; from then on what is "
        "picked or changed goes into its file. k keeps what lies ready under a name of its own. "
        "n begins anew with nothing, d lays the demonstration ready. What lies ready and is kept "
        "nowhere is not put away without a question."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("k", "keep_as", "keep as", id="scores.keep"),
        Binding("n", "anew", "anew", id="scores.anew"),
        Binding("d", "demonstration", "example", id="scores.demonstration"),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = "TitleTable"

    def compose_room(self) -> ComposeResult:
        """Lay out the table over the name to keep under."""
        yield Static("Scores that are kept", classes="heading")
        yield TitleTable("name", beside=BESIDE, id="kept", cursor_type="row")
        with Grid(classes="form -two"):
            yield Label("keep as")
            yield Input(id="keep-as", compact=True, placeholder="a name for what lies ready")
        yield Static("", id="told", markup=False)

    def on_mount(self) -> None:
        """Read the folder beside the screen."""
        super().on_mount()
        self.beside(self._read)

    async def _read(self) -> None:
        try:
            found = await asyncio.to_thread(_scores)
        except (OSError, BadInput) as error:
            self._tell(f"the folder of scores cannot be read: {error}", refused=True)
            return
        table = self.query_one(TitleTable)
        table.clear()
        for name, words in found:
            short = name if len(name) <= MOST_NAME else name[: MOST_NAME - 1] + "…"
            table.add(short.ljust(MOST_NAME), title=words, key=name)
        table.display = bool(found)
        if not found:
            self._tell("none yet: k keeps what lies ready, d lays a demonstration ready")

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    # -- opening -----------------------------------------------------------------------------

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Lay the score of the row ready."""
        self.beside(partial(self._open, str(event.row_key.value)), "open")

    async def _open(self, name: str) -> None:
        try:
            path, score = await asyncio.to_thread(open_score, name)
        except (OSError, DrysideError) as error:
            self._tell(f"{sentence(error)} What lay ready still lies there.", refused=True)
            return
        self._unless_lost(lambda: self._lay(score, str(path)))

    def action_anew(self) -> None:
        """Begin anew: nothing lies ready."""
        self._unless_lost(lambda: self._lay(None))

    def action_demonstration(self) -> None:
        """Lay the demonstration ready."""
        from controller.score.new import demonstration

        self._unless_lost(lambda: self._lay(demonstration()))

    def _lay(self, score: Score | None, kept_as: str = "") -> None:
        self.link.lay_print(score, kept_as)
        self.terminal.action_room("score")

    def _unless_lost(self, do: Callable[[], None]) -> None:
        """Do it at once where what lies ready is kept, or is nothing; else ask before."""
        desk = self.link.desk
        if desk is None or desk.score is None or desk.kept_as:
            do()
            return

        def answered(answer: str | None) -> None:
            if answer == AWAY:
                do()
            elif answer == KEEP:
                self.action_keep_as()

        question = f"What lies ready is kept nowhere: {ready_words(desk.score, desk.sheets)}"
        answers = {
            LEAVE: "leave it as it is",
            KEEP: "keep it under a name first",
            AWAY: "put it away for good",
        }
        self.app.push_screen(AskScreen(question, answers), answered)

    # -- keeping -----------------------------------------------------------------------------

    def action_keep_as(self) -> None:
        """Ask for a name."""
        self.query_one("#keep-as", Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep what lies ready under this name."""
        if event.value.strip():
            self.beside(partial(self._keep, event.value.strip()), "open")

    async def _keep(self, name: str) -> None:
        desk = self.link.desk
        if desk is None or desk.score is None:
            self._tell("nothing lies ready to be kept", refused=True)
            return
        score = desk.score

        def write() -> Path:
            path = named(name)
            if path.exists():
                raise BadInput("there is a score already", path.stem, "another name")
            keep(score, path)
            return path

        try:
            path = await asyncio.to_thread(write)
        except (OSError, BadInput) as error:
            self._tell(sentence(error), refused=True)
            return
        now = self.link.desk or desk  # what was picked meanwhile is written by the unit
        self.link.arrange(now.model_copy(update={"kept_as": str(path)}))
        self.query_one("#keep-as", Input).value = ""
        self.query_one(TitleTable).focus()
        self._tell(f"kept as {path.stem}; what is changed from now on goes there too")
        self.beside(self._read)  # in place of an older look, that may end later


def _scores() -> list[tuple[str, str]]:
    """Name every score, and tell it in a few words."""
    found = []
    for name in kept():
        try:
            _, score = open_score(name)
            words = f"{score.title or score.negative or 'untitled'}: {ready_words(score)}"
        except (OSError, DrysideError):
            words = "it cannot be read; enter tells why"
        found.append((name, words))
    return found
