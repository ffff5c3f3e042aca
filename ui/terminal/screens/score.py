"""The score: the print that lies ready, every exposure of it, and its sketch."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar, TypeAlias

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Grid, Horizontal, Vertical, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.desk.asked import AskedScore, score_asked, typed_score
from controller.desk.desk import Desk
from controller.desk.orders import Order
from controller.errors import DrysideError
from controller.score.drawing import draw_sketch
from controller.score.model import Score
from controller.score.report import score_rows
from controller.score.typed import change_typed, lines_typed, strip_typed
from ui.terminal.screens.base import RoomScreen
from ui.terminal.sentence import sentence
from ui.terminal.widgets.row_table import RowTable

JUDGED = (("wet", "wet"), ("dry", "dry"))
FIELDS = (
    ("base", "base", "seconds"),
    ("dry_down", "dry-down", "8%, or 1/12"),
    ("aperture", "lens", "aperture"),
    ("sheets", "sheets", "1"),
    ("size", "size mm", ""),
    ("title", "title", ""),
    ("negative", "negative", ""),
    ("paper", "paper", ""),
    ("batch", "batch", ""),
)
JUDGED_AFTER = "dry_down"  # the field after which the choice stands
LEAST_SKETCH = 26  # columns; below that the sketch has a page of its own only
LEAST_SKETCH_ROWS = 8
BETWEEN = 3  # columns between table and sketch

Lying: TypeAlias = tuple[Score | None, int]  # what lies ready, and how many sheets of it


class ScoreScreen(RoomScreen):
    """Where the next print is laid out."""

    NAME = "score"
    HELP_TEXT = (
        "The print that lies ready: from the patch or cell you picked, or begun here with a base. "
        "The line 'change' takes one thing at a time: pass hard:5:-1/3, burn sky=+1@soft, "
        "dodge door=1/3@hard, drop burn:sky; in it, up and down bring what each row says, as does "
        "a click on the row. What is in stops follows the base, what is in seconds is fixed. "
        "Dry-down is this paper's, taken off once, and only where the strips were judged wet. "
        "o opens a kept score and keeps this one, c converts it, v shows its sketch, d its tones "
        "to come."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "print", id="score.make"),
        Binding("slash", "change", "change", id="score.change", key_display="/"),
        Binding("o", "app.page('scores')", "scores", id="score.open"),
        Binding("c", "app.page('convert')", "convert", id="score.convert"),
        Binding("d", "app.page('tones')", "tones", id="score.tones", show=False),
        Binding("v", "app.page('sketch')", "sketch", id="score.sketch", show=False),
        Binding("up", "recall(-1)", "", id="score.recall.up", show=False),
        Binding("down", "recall(1)", "", id="score.recall.down", show=False),
        Binding("escape", "leave_field", "leave the field", id="score.leave", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._settled: dict[str, str] = {}  # what each field held when it was last laid ready
        self._prints = -1
        self._seen: Lying | None = None
        self._own: Desk | None = None  # what was laid ready here last
        self._laid: list[Lying] = []  # laid ready here, and not yet heard of from the unit
        self._recalled = -1
        self._drawn: Score | None = None
        self._sketch_away = False  # there is one, and no room for it here

    def compose_room(self) -> ComposeResult:
        """Lay out the head over the exposures and the sketch."""
        with Grid(classes="form -tight"):
            for name, label, placeholder in FIELDS:
                yield Label(label)
                yield Input(id=f"of-{name}", compact=True, placeholder=placeholder)
                if name == JUDGED_AFTER:
                    yield Label("judged")
                    yield Select(JUDGED, id="of-judged", allow_blank=False, compact=True)
            yield Label("kept as")
            yield Static("", id="kept-as", markup=False)
        with Horizontal(id="score"):
            with VerticalScroll(id="exposures", can_focus=False):
                yield RowTable(id="rows")
            yield Static("", id="sketch", markup=False)
        with Vertical(id="below"):
            with Horizontal(id="changing"):
                yield Label("change")
                # what a row brings is to be edited, not to be typed over
                yield Input(
                    id="change",
                    compact=True,
                    placeholder="burn sky=+1@soft",
                    select_on_focus=False,
                )
            yield Static("", id="told", markup=False)

    # -- what lies ready ---------------------------------------------------------------------

    def show_room(self) -> None:
        """Bring the form up to date with what lies ready."""
        desk = self.link.desk
        if desk is not None:
            self._hear(desk)
            kept = Path(desk.kept_as).stem if desk.kept_as else "nothing yet (o keeps it)"
            self.query_one("#kept-as", Static).update(kept if desk.score else "")
        self._judge()

    def _hear(self, desk: Desk) -> None:
        lies = (desk.score, desk.sheets)
        if self.link.prints != self._prints:
            self._prints = self.link.prints
            self._settled = {}
            self._fill(desk)
        elif desk is self._own:
            return
        elif lies in self._laid:
            # the unit's echo, which may be some keys behind
            del self._laid[: self._laid.index(lies) + 1]
        elif lies != self._seen:
            self._fill(desk)
        self._seen = lies

    def _fill(self, desk: Desk) -> None:
        """Write another print into the form, but not over what was typed and is not settled."""
        self._laid.clear()
        asked = typed_score(desk.score, desk.sheets)
        with self.prevent(Input.Changed, Select.Changed):
            for name, value in self._texts().items():
                new = getattr(asked, name)
                if value == self._settled.get(name, value):
                    self._put(name, new)
                self._settled[name] = new

    def _texts(self) -> dict[str, str]:
        texts = {name: self.query_one(f"#of-{name}", Input).value for name, _, _ in FIELDS}
        return {**texts, "judged": str(self.query_one("#of-judged", Select).value)}

    def _put(self, name: str, text: str) -> None:
        if name == "judged":
            self.query_one("#of-judged", Select).value = text
        else:
            self.query_one(f"#of-{name}", Input).value = text

    @property
    def _lying(self) -> Lying:
        """What lies ready, or will as soon as the unit has heard of it."""
        desk = self.link.desk
        assert desk is not None
        return self._laid[-1] if self._laid else (desk.score, desk.sheets)

    def _judge(self, *, lay: bool = False) -> bool:
        """Show what is typed; with ``lay``, lay it ready. False where it cannot be made."""
        texts: dict[str, Any] = {name: text.strip() for name, text in self._texts().items()}
        if self.link.desk is None:
            return False
        before, _ = self._lying
        if not texts["base"]:
            if before is None:
                self._draw(None)
            self._tell(
                "type a base; what lay ready still lies there"
                if before
                else "no print lies ready: pick a patch on the bench, or type a base here"
            )
            return False
        try:
            score, sheets = score_asked(AskedScore(**texts), before)
            self._require(score, sheets)
        except DrysideError as error:
            self._tell(sentence(error), refused=True)
            return False
        if lay:
            self._lay_ready(score, sheets)
        self._draw(score)
        ready = "it lies ready on the bench (ctrl+s prints it)"
        more = "v shows its sketch, d tones" if self._sketch_away else "d shows its tones"
        self._tell(f"{ready}; {more}")
        return True

    def _wanted(self, score: Score, sheets: int) -> Desk:
        desk = self.link.desk
        assert desk is not None
        update = {"score": score, "sheets": sheets, "judged": score.judged}
        return desk.model_copy(update=update)

    def _require(self, score: Score, sheets: int) -> None:
        """Raise what the lamp cannot do."""
        self._wanted(score, sheets).plan(Order.PRINT, self.link.unit.rig)

    def _lay_ready(self, score: Score, sheets: int) -> None:
        """Lay a score ready on the desk, as the form has it."""
        self._settled = self._texts()
        if (score, sheets) == self._lying:
            return
        self._laid.append((score, sheets))
        self._own = self._wanted(score, sheets)
        self.link.arrange(self._own)

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    # -- drawing -----------------------------------------------------------------------------

    def on_resize(self) -> None:
        """Draw anew when it is known how much room there is."""
        self.call_after_refresh(self._draw_anew)

    def _draw_anew(self) -> None:
        self._draw(self._drawn)

    def _draw(self, score: Score | None) -> None:
        self._drawn = score
        table, sketch = self.query_one(RowTable), self.query_one("#sketch", Static)
        room = self.query_one("#score").size
        table.show(score_rows(score) if score else [], room.height)
        wide = room.width - table.wide - BETWEEN
        drawing: list[str] = []
        if score and wide >= LEAST_SKETCH and room.height >= LEAST_SKETCH_ROWS:
            drawing = draw_sketch(score, wide, room.height)
        sketch.display = bool(drawing)
        sketch.update("\n".join(drawing))
        self._sketch_away = bool(score and score.sketch and not drawing)

    # -- what is typed -----------------------------------------------------------------------

    def on_input_changed(self, event: Input.Changed) -> None:
        """Judge what is typed, and lay it ready; a change waits until it is whole."""
        if event.input.id != "change":
            self._judge(lay=True)

    def on_select_changed(self) -> None:
        """Judge what is chosen, and lay it ready."""
        self._judge(lay=True)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go on to the next field; make the change that is typed."""
        if event.input.id != "change":
            self.focus_next()
        elif event.value.strip():
            self._change(event.value)

    def _change(self, line: str) -> None:
        if self.link.desk is None:
            return
        before, sheets = self._lying
        if before is None:
            self._tell("there is nothing to change yet: type a base first", refused=True)
            return
        try:
            if self._strip_asked(before, line):
                return
            score = change_typed(before, line)
            self._require(score, sheets)
        except DrysideError as error:
            self._tell(sentence(error), refused=True)
            return
        # a change may set what stands in the head: there the score has the word, unless a field
        # holds what is not settled yet
        settled, texts = self._settled, self._texts()
        with self.prevent(Input.Changed, Select.Changed):
            asked = typed_score(score, sheets)
            for name, value in texts.items():
                if value == settled.get(name, value) != getattr(asked, name):
                    self._put(name, getattr(asked, name))
        unsettled = {name: settled[name] for name in settled if settled[name] != texts[name]}
        self._lay_ready(score, sheets)
        self._settled |= unsettled
        self.query_one("#change", Input).value = ""
        self._recalled = -1
        self._judge()

    def _strip_asked(self, score: Score, line: str) -> bool:
        """Lay a burn or dodge strip ready, if the line asks for one. Raises what cannot be."""
        desk = self.link.desk
        assert desk is not None
        strip = strip_typed(score, line, (desk.strip.width_mm, desk.strip.height_mm))
        if strip is None:
            return False
        ready = desk.model_copy(update={"strip": strip})
        ready.plan(Order.STRIP, self.link.unit.rig)
        self.link.arrange(ready)
        self.query_one("#change", Input).value = ""
        self._tell("the strip lies ready: s on the bench makes it, and a pick of it comes here")
        return True

    def action_change(self) -> None:
        """Go to the line that changes the score."""
        self.query_one("#change", Input).focus()

    def action_recall(self, by: int) -> None:
        """Bring what the row above or below says into the line of changes."""
        field = self.query_one("#change", Input)
        if self.focused is not field:
            self.query_one("#exposures").scroll_relative(y=by, animate=False)
            return
        lines = self._lines()
        if lines:
            first = 0 if by > 0 else len(lines) - 1
            begun = 0 <= self._recalled < len(lines)
            self._bring((self._recalled + by) % len(lines) if begun else first)

    def on_row_table_chosen(self, message: RowTable.Chosen) -> None:
        """Bring what the row says into the line of changes."""
        self.action_change()
        self._bring(message.index)

    def _lines(self) -> list[str]:
        score = self._lying[0] if self.link.desk else None
        return lines_typed(score) if score else []

    def _bring(self, index: int) -> None:
        lines = self._lines()
        if 0 <= index < len(lines):
            self._recalled = index
            field = self.query_one("#change", Input)
            field.value = lines[index]
            field.cursor_position = len(field.value)

    # -- keys --------------------------------------------------------------------------------

    def action_make(self) -> None:
        """Print it, and go to the bench."""
        if self._judge(lay=True):
            self.link.order(Order.PRINT.value)
            self.terminal.action_room("bench")

    def action_wall_map(self) -> None:
        """Write the wall map, and say where it is."""
        score = self._lying[0] if self.link.desk else None
        if score is None:
            self._tell("no print lies ready: there is nothing to map", refused=True)
            return

        async def work() -> None:
            try:
                path = await asyncio.to_thread(_mapped, score)
            except DrysideError as error:
                self._tell(sentence(error), refused=True)
                return
            self._tell(f"wall map: {path}")

        self.beside(work, group="map")

    def action_leave_field(self) -> None:
        """Leave the field, so that the keys of the room are heard again."""
        self.set_focus(None)

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give what can be done here."""
        yield SystemCommand("Print it", "as it is laid out", self.action_make)
        yield SystemCommand("Change the score", "one thing at a time", self.action_change)
        yield SystemCommand("Wall map", "one page for the wall, as PDF", self.action_wall_map)


def _mapped(score: Score) -> Path:
    """Write the wall map beside the scores; in a thread, since it loads much. Raises BadInput."""
    from controller.score.wall_map import write_wall_map
    from ui.scores import folder

    name = re.sub(r"[^A-Za-z0-9]+", "-", score.title or score.negative).strip("-").lower()
    path = folder() / f"{name or 'print'}-map.pdf"
    write_wall_map(score, path)
    return path
