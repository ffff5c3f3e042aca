"""A picture to keep: where it is to lie is asked, and said again when it lies there."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid
from textual.widgets import Input, Static

from controller.errors import DrysideError
from drivers.places import data_folder
from ui.terminal.screens.paper_form import MOVING, PaperForm
from ui.terminal.sentence import sentence

WHAT = "a name that ends in .png, .svg or .pdf; ctrl+s draws it"


class PictureScreen(PaperForm):
    """Where a picture is drawn into a file."""

    HELP_TEXT: ClassVar[str] = (
        "Draws what you looked at into a file: PNG, SVG or PDF, by the ending of its name. The "
        "folder must be there. What lies there under that name is drawn over."
    )
    FIELDS = (("file", "file", ""),)
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "draw", "draw it", id="picture.draw"),
        *MOVING,
    ]
    AUTO_FOCUS = "#of-file"

    def __init__(self, title: str, name: str, draw: Callable[[Path], str]) -> None:
        super().__init__()
        self._title = title
        self._file_name = name
        self._draw = draw  # may take its time; gives what is to be said, or nothing

    def compose_room(self) -> ComposeResult:
        """Lay out the field."""
        yield Static(self._title, classes="heading", markup=False)
        with Grid(classes="form -tight -two -wide"):
            yield from self.fields()
        yield Static(WHAT, id="told", markup=False)

    def on_mount(self) -> None:
        """Suggest a name beside the other pictures."""
        super().on_mount()
        with self.prevent(Input.Changed):
            self.query_one(Input).value = str(data_folder() / "pictures" / self._file_name)

    def judge(self) -> None:
        """Another name may be drawn to."""
        self.tell(WHAT)

    def on_input_submitted(self) -> None:
        """Enter draws it: there is no other field."""
        self.action_draw()

    def action_draw(self) -> None:
        """Draw it beside the screen."""
        if not self.typed("file"):
            self.tell(WHAT, refused=True)
            return
        self.tell("it is drawn")
        self.beside(self._keep, "page")

    async def _keep(self) -> None:
        path = Path(self.typed("file")).expanduser()

        def write() -> str:
            if path.parent == data_folder() / "pictures":
                path.parent.mkdir(parents=True, exist_ok=True)
            return self._draw(path)

        try:
            said = await asyncio.to_thread(write)
        except DrysideError as error:
            self.tell(sentence(error), refused=True)
        except OSError as error:
            self.tell(f"it cannot be written: {error.strerror}", refused=True)
        else:
            self.tell(f"picture: {path}" + (f"; {said}" if said else ""))
