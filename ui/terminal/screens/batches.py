"""Batches: prints from the holding bath that are cleared, toned, washed and tested together."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Input, Static

from controller.book import wet
from controller.errors import DrysideError
from controller.trays.batch import (
    FIX_AGAIN_S,
    Batch,
    Owed,
    card,
    due_step,
    marks_asked,
    may_do,
    spoken,
)
from controller.trays.residual import Residual, Seen, steps_of
from controller.trays.way import Step, known_ways, shipped
from drivers.places import config_folder
from ui.terminal import batches_book as book_of
from ui.terminal.screens.ask import AskScreen
from ui.terminal.screens.book import clock
from ui.terminal.screens.page import PageOver
from ui.terminal.sentence import sentence
from ui.terminal.shelf import with_book
from ui.terminal.widgets.title_table import TitleTable

if TYPE_CHECKING:
    from controller.book.book import Book

BESIDE = 25  # cells that the other columns need
LEAVE = "leave"
GO_ON = "go on all the same"
CLOSED = "the book cannot be opened"


class BatchesScreen(PageOver):
    """Where prints go on together, another day if need be."""

    NAME = "trays"
    HELP_TEXT: ClassVar[str] = (
        "n takes marks, and begins a batch of them or adds them to one; ways of your own are "
        "those in the folder ways beside the rig file. Below is the card of the "
        "batch in which the cursor stands. t times its next step and calls it aloud, in whichever "
        "room you are, at the trays' temperature; t again ends it and writes it down. d writes the "
        "next step with "
        "its usual time, afterwards. r gives a step the rest that it lacks. u takes back what was "
        "written last. s leads through a test for silver or fixer that stayed. "
        "f writes that under-fixed prints were fixed again; o takes a print "
        "out; m joins it with another batch."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "marks", "new", id="batches.new"),
        Binding("t", "time", "time", id="batches.time"),
        Binding("d", "did", "done", id="batches.did"),
        Binding("r", "rest", "rest", id="batches.rest"),
        Binding("u", "undo", "undo", id="batches.undo"),
        Binding("s", "test", "test", id="batches.test"),
        Binding("f", "fix", "fix", id="batches.fix"),
        Binding("o", "out", "out", id="batches.out"),
        Binding("m", "merge", "merge", id="batches.merge"),
        Binding("escape", "back", "back", id="page.back"),
    ]
    AUTO_FOCUS = "TitleTable"

    def __init__(self) -> None:
        super().__init__()
        self._found: list[Batch] = []

    def compose_room(self) -> ComposeResult:
        """Lay out the batches over the card of one."""
        yield TitleTable("batch", "way", beside=BESIDE, id="batches", cursor_type="row")
        yield Input(id="marks", compact=True, placeholder="n: marks for a batch, such as K7 K8")
        yield Static("", id="timer", classes="heading", markup=False)
        yield Static("", id="told", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static("", id="card", markup=False)

    def on_mount(self) -> None:
        """Read the batches beside the screen, and count down."""
        super().on_mount()
        self.beside(self._read, "read")
        self.set_interval(0.5, self._count)

    # -- what is shown -----------------------------------------------------------------------

    async def _read(self) -> None:
        found = await with_book(wet.batches)
        if found is None:
            self._tell(CLOSED, refused=True)
        table = self.query_one(TitleTable)
        row = table.cursor_row
        was_asked = self.query_one("#marks").has_focus
        self._found = found or []
        table.clear()
        for batch in self._found:
            due = f"next {batch.next.name}: " if batch.next else "through: "
            marks = " ".join(sheet.mark for sheet in batch.sheets) or "no prints"
            number = str(batch.number)
            table.add(number, batch.way.name, title=due + marks, key=number)
        table.display = bool(self._found)
        if not self._found and not was_asked:
            self.set_focus(None)  # keys are keys, until n asks for marks
        if self._found:
            table.move_cursor(row=min(row, len(self._found) - 1))
            if self.is_current and not was_asked:
                table.focus()
        self._show_card()

    def _at(self) -> Batch | None:
        """Give the batch in which the cursor stands."""
        row = self.query_one(TitleTable).cursor_row
        return self._found[row] if 0 <= row < len(self._found) else None

    def on_data_table_row_highlighted(self, _event: DataTable.RowHighlighted) -> None:
        """Show the card of another batch."""
        self._show_card()

    def _show_card(self) -> None:
        batch = self._at()
        none = "No batch yet: n takes the marks of prints that wait in the holding bath."
        self.query_one("#card", Static).update("\n".join(card(batch)) if batch else none)
        self._count()

    def _count(self) -> None:
        """Show how far the timers are, and what is called."""
        if not self.is_current:
            return
        lines = self.terminal.timers.lines()
        timer = self.query_one("#timer", Static)
        timer.update("\n".join(lines))
        timer.display = bool(lines)

    def _tell(self, words: str, *, refused: bool = False) -> None:
        told = self.query_one("#told", Static)
        told.update(words)
        told.set_class(refused, "-refused")

    # -- what is done ------------------------------------------------------------------------

    def _change(self, work: Callable[[Book], str]) -> None:
        self.beside(partial(self._do, work), "page")

    async def _do(
        self, work: Callable[[Book], str], ask: Callable[[str], None] | None = None
    ) -> None:
        try:
            said = await with_book(work)
        except DrysideError as error:
            if ask is not None and isinstance(error, Owed | wet.NoPrint):
                ask(error.why)
                return
            self._tell(sentence(error), refused=True)
            return
        self._tell(said or CLOSED, refused=said is None)
        self.beside(self._read, "read")  # in place of an older look, that may end later

    def _insisting(self, work: Callable[..., str], insist: str) -> None:
        """Do it; where the book asks whether it is meant, ask, and do it then ``anyway``."""

        def ask(why: str) -> None:
            again = partial(work, anyway=True)
            answers: dict[str, str | None] = {LEAVE: "leave it", "anyway": insist}
            self._asked(f"{why}.", answers, lambda _: self._change(again))

        self.beside(partial(self._do, partial(work, anyway=False), ask), "page")

    def _asked(
        self, question: str, answers: dict[str, str | None], do: Callable[[str], None]
    ) -> None:
        def answered(answer: str | None) -> None:
            if answer is not None and answer != LEAVE:
                do(answer)

        self.app.push_screen(AskScreen(question, answers), answered)

    def _chosen(self) -> Batch | None:
        batch = self._at()
        if batch is None:
            self._tell("there is no batch yet: n begins one", refused=True)
        return batch

    def action_marks(self) -> None:
        """Ask for marks."""
        self.query_one("#marks", Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Ask where prints of these marks go on."""
        try:
            marks = marks_asked(event.value.replace(",", " ").split())
        except DrysideError as error:
            self._tell(sentence(error), refused=True)
            return
        if not marks:
            return
        try:
            ways = known_ways(config_folder())
        except DrysideError as error:  # the shipped ones are there all the same
            ways = shipped()
            self._tell(sentence(error), refused=True)
        answers: dict[str, str | None] = {
            f"add {batch.number}": f"they join batch {batch.number}, {batch.way.name}"
            for batch in self._found
            if not batch.done
        }
        answers |= {name: f"a new batch, {name}: {way.about}" for name, way in ways.items()}

        def put(answer: str) -> None:
            event.input.clear()
            self.query_one(TitleTable).focus()
            self._insisting(
                partial(book_of.begun, marks, answer, ways), "they are to be toned all the same"
            )

        self._asked(f"Where do {' '.join(marks)} go on?", answers, put)

    def action_did(self) -> None:
        """Write the next step down, with its usual time."""
        if batch := self._chosen():
            self.terminal.timers.forget(batch.number)
            did = partial(book_of.did, batch.number, "", None, self.link.trays.celsius)
            self._insisting(did, GO_ON)

    def action_time(self) -> None:
        """Begin to time the next step, or end that and write it down."""
        batch = self._chosen()
        if batch is None:
            return
        timers, celsius = self.terminal.timers, self.link.trays.celsius
        if batch.number in timers:
            name, took_s, anyway = timers.end(batch.number)
            did = partial(book_of.did, batch.number, name, took_s, celsius)
            self._change(partial(did, anyway=anyway))
            return
        try:
            self._begin(batch, due_step(batch), celsius)
        except DrysideError as error:
            self._tell(sentence(error), refused=True)

    def _begin(self, batch: Batch, step: Step, celsius: float, *, anyway: bool = False) -> None:
        """Begin to time a step, or its rest. Raises Refused; asks where it may be done anyway."""
        try:
            may_do(batch, step, anyway=anyway)
        except Owed as owed:
            again = partial(self._begin, batch, step, celsius, anyway=True)
            self._asked(
                f"{owed.why}.",
                {LEAVE: "leave it: r gives the rest first", "anyway": GO_ON},
                lambda _answer: again(),
            )
            return
        had_s = batch.given_s(step)
        self.terminal.timers.begin(batch.number, step, celsius, had_s=had_s, anyway=anyway)
        self._tell("")
        self._count()

    def action_rest(self) -> None:
        """Ask which step is to have the rest that it lacks: timed now, or had already."""
        batch = self._chosen()
        if batch is None:
            return
        celsius = self.link.trays.celsius
        lacking = {step.name: step for step in batch.may_get_rest if batch.rest_s(step, celsius)}
        if not lacking:
            self._tell(f"no step of batch {batch.number} lacks any of its time")
            return
        answers: dict[str, str | None] = {LEAVE: "not now"}
        for name, step in lacking.items():
            rest = spoken(batch.rest_s(step, celsius))
            answers[f"time {name}"] = f"{name}: time the rest now, {rest}"
            answers[f"did {name}"] = f"{name}: it had the rest, {rest}: write it down"

        def given(answer: str) -> None:
            what, _, name = answer.partition(" ")
            if what == "did":
                self.terminal.timers.forget(batch.number)
                self._insisting(partial(book_of.did, batch.number, name, None, celsius), GO_ON)
                return
            try:
                self._begin(batch, lacking[name], celsius)
            except DrysideError as error:
                self._tell(sentence(error), refused=True)

        self._asked("Which step gets its rest?", answers, given)

    def action_undo(self) -> None:
        """Ask before what was written last is taken back."""
        if batch := self._chosen():
            if not batch.done:
                self._tell(f"nothing is written of batch {batch.number}")
                return
            last = max(batch.done, key=lambda each: each.at)
            took = f", {spoken(last.actual_s)}" if last.actual_s else ""
            answers: dict[str, str | None] = {
                LEAVE: "leave it",
                "undo": f"take back what was written at {clock(last.at)}",
            }
            undo = partial(book_of.taken_back, batch.number)
            self._asked(f"{last.name}{took} was not so?", answers, lambda _: self._change(undo))

    def action_test(self) -> None:
        """Ask what is looked for."""
        if batch := self._chosen():
            answers: dict[str, str | None] = {
                LEAVE: "none",
                Residual.SILVER.value: "silver that stayed: was it fixed?",
                Residual.HYPO.value: "fixer that stayed: was it washed?",
            }
            self._asked("Which test?", answers, partial(self._lead, batch.number))

    def _lead(self, number: int, name: str) -> None:
        """Lead through a test, and ask what was seen."""
        test = Residual(name)
        steps = [f"{n}. {text}" for n, text in enumerate(steps_of(test), start=1)]
        answers: dict[str, str | None] = {LEAVE: "not looked at yet"}
        answers |= {seen.value: f"the stain: {seen.value}" for seen in Seen}
        work = partial(book_of.tested, number, test)
        self._asked("\n".join(steps), answers, lambda seen: self._change(partial(work, seen)))

    def action_fix(self) -> None:
        """Write that the under-fixed prints were fixed again."""
        if batch := self._chosen():
            marks = batch.under_fixed
            if not marks:
                self._tell(f"no print of batch {batch.number} is known to be under-fixed")
                return
            time_s = spoken(FIX_AGAIN_S)
            answers: dict[str, str | None] = {
                LEAVE: "not yet",
                "fixed": f"{' '.join(marks)} had {time_s} in fresh fixer",
            }
            self._asked(
                "Fixed again?", answers, lambda _answer: self._change(partial(book_of.fixed, marks))
            )

    def action_out(self) -> None:
        """Take a print out."""
        if batch := self._chosen():
            answers: dict[str, str | None] = {LEAVE: "none"}
            answers |= {sheet.mark: None for sheet in batch.sheets}
            work = partial(book_of.out, batch.number)
            self._asked(
                f"Which print leaves batch {batch.number}?",
                answers,
                lambda mark: self._change(partial(work, mark)),
            )

    def action_merge(self) -> None:
        """Join another batch with this one."""
        if batch := self._chosen():
            answers: dict[str, str | None] = {LEAVE: "none"}
            for each in self._found:
                if each.number != batch.number:
                    marks = " ".join(sheet.mark for sheet in each.sheets)
                    answers[str(each.number)] = f"batch {each.number}, {each.way.name}: {marks}"
            work = partial(book_of.merged, batch.number)
            self._asked(
                f"Which goes on in batch {batch.number}?",
                answers,
                lambda other: self._change(partial(work, int(other))),
            )
