"""The bench: what runs now, what the hands do next, and what can be done when nothing runs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from controller.desk.orders import Order
from controller.errors import DrysideError
from controller.exposing.bench import State
from controller.ports import Wants
from controller.stops import format_time
from ui.terminal.link import seconds_left
from ui.terminal.screens.base import RoomScreen
from ui.terminal.widgets.figures import Figures
from ui.terminal.widgets.fog_bars import FogBars
from ui.terminal.widgets.picker import Picker
from ui.terminal.widgets.plan_list import PlanList
from ui.terminal.widgets.ready_lines import ReadyLines

FRAME_S = 1 / 10
FOG_S = 1.0
WAITS = {
    Wants.CONFIRM: "tap when it is done",
    Wants.GO: "tap to go",
    Wants.CHOICE: "tap to take it; silence leaves all as it is",
}
WORDS = {
    State.CURTAIN: "curtain",
    State.SETTLING: "the lights settle",
    State.NOTING: "the book is written",
    State.LEAD_IN: "the bench settles; a tap cancels",
    State.LIT: "light; a press puts it off",
    State.GAP: "between two pulses",
}
QUESTIONS = {Order.TRIAL: "A trial piece laid on which place?", Order.ADD: "How much more light?"}
MISSING = {
    Order.TRIAL: "no print lies ready whose spots could be tried",
    Order.ADD: "no print lies there that could get more light",
}
KNOWN = {True: "on", False: "off", None: "unknown"}


class BenchScreen(RoomScreen):
    """Where exposing is done and seen."""

    NAME = "bench"
    HELP_TEXT = (
        "What runs: the seconds left, what your hands do next, the plan with the line in hand, "
        "lamp and safelights as they really are. When nothing runs: s makes the strip that lies "
        "ready, k lays out a cross, arrows and enter pick from the last one, n prints what was "
        "picked; t gives a small piece the whole score of one spot, + gives the print that lies "
        "there more light. f lights the lamp to focus by, p through the red filter to lay paper "
        "by. During a sheet: u the card moved late, w another filter was in, x spoiled, a abandon."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s", "order('strip')", "strip", id="bench.strip"),
        Binding("n", "order('print')", "print", id="bench.print"),
        Binding("k", "app.page('cross')", "cross", id="bench.cross", show=False),
        Binding("t", "choose('trial piece')", "trial piece", id="bench.trial", show=False),
        Binding("plus", "choose('add')", "add", id="bench.add", show=False, key_display="+"),
        Binding("f", "order('focus light')", "focus", id="bench.focus"),
        Binding("p", "order('placing light')", "placing", id="bench.placing"),
        Binding("o", "app.page('open')", "open the evening", id="bench.open", show=False),
        Binding("c", "app.page('close')", "close the evening", id="bench.close", show=False),
        Binding("left", "pick(-1)", "pick", id="bench.pick.left", show=False, key_display="arrows"),
        Binding("right", "pick(1)", "", id="bench.pick.right", show=False),
        Binding("up", "pick(0, -1)", "", id="bench.pick.up", show=False),
        Binding("down", "pick(0, 1)", "", id="bench.pick.down", show=False),
        Binding("enter", "take", "pick, or pedal", id="bench.take", show=False),
        Binding("u", "wish('unsure')", "unsure", id="bench.unsure"),
        Binding("w", "wish('wrong filter')", "filter", id="bench.filter"),
        Binding("x", "wish('spoiled')", "spoiled", id="bench.spoiled"),
        Binding("a", "wish('abandon')", "abandon", id="bench.abandon"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._keys_of_run = False  # which keys were shown last

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Orders are for when nothing runs, wishes about a sheet for when one is in hand."""
        if action in ("order", "choose", "wish"):
            return self.link.running is (action == "wish")
        return super().check_action(action, parameters)

    def compose_room(self) -> ComposeResult:
        """Lay out figures at the left, the plan at the right."""
        with Horizontal(id="bench"):
            with Vertical(id="now"):
                yield Static("", id="title", markup=False)
                yield Figures(id="left")
                yield Static("", id="todo", markup=False)
                yield Static("", id="waits", markup=False)
                yield Picker()
                yield Static("", id="choice", markup=False)
            yield PlanList(id="plan")
        yield FogBars()
        yield Static("", id="lights", markup=False)
        yield ReadyLines(id="ready")

    def on_mount(self) -> None:
        """Count down while something counts."""
        super().on_mount()
        self.set_interval(FRAME_S, self._count)
        self.set_interval(FOG_S, self._fog)

    def _count(self) -> None:
        if self.terminal.curtain_down or not self.is_current:
            return
        if self.link.running:
            self._figures()

    def _fog(self) -> None:
        if not self.terminal.curtain_down and self.is_current:
            self.query_one(FogBars).show(self.link.paper, self.link.clock.now_ns())

    def _figures(self) -> None:
        left_s = seconds_left(self.link.view, self.link.clock.now_ns())
        self.query_one(Figures).show("" if left_s is None else f"{left_s:.1f}")

    def show_room(self) -> None:
        """Show the run, or what lies ready."""
        link, view = self.link, self.link.view
        running = link.running
        self.set_class(not running, "-idle")
        self._figures() if running else self.query_one(Figures).show("")
        self.query_one("#title", Static).update(self._title())
        self.query_one("#todo", Static).update(view.text if running else link.cue.text)
        waits = WORDS.get(view.state) or WAITS.get(view.wants, "")
        if not running:
            waits = WAITS.get(link.cue.wants, "") if link.cue.wants is Wants.CHOICE else ""
            if not waits and link.desk and link.desk.made:
                waits = f"pick from {link.desk.made.mark}: arrows and enter"
        self.query_one("#waits", Static).update(waits)
        self._show_picker()
        if running is not self._keys_of_run:
            self._keys_of_run = running
            self.refresh_bindings()
        self.query_one(PlanList).show(link.plan, view.action if running else -1)
        lights = "   ".join(f"{name} {KNOWN[lit]}" for name, lit in view.lit.items())
        self.query_one("#lights", Static).update(lights)
        self._fog()
        self.query_one(ReadyLines).show([] if running else self._ready())

    def _title(self) -> str:
        link = self.link
        if link.running and link.plan:
            return link.plan.title
        if link.hello is None:
            return "the unit is starting" if not self.terminal.trouble else ""
        if link.ended:
            return f"{link.plan.title if link.plan else ''}: {link.ended.fate.value}"
        return "nothing runs"

    def _show_picker(self) -> None:
        """Offer what was made last: patches in a row, or cells as they lie on the sheet."""
        desk, picker = self.link.desk, self.query_one(Picker)
        choices = desk.choices() if desk and not self.link.running else []
        cross = desk.made.cross if desk and desk.made else None
        picker.show(choices, cross.soft.steps if cross and choices else 0)
        picker.display = bool(choices)
        self._say_choice()

    def _say_choice(self) -> None:
        """Say what the choice under the cursor would come to."""
        picker, desk, said = self.query_one(Picker), self.link.desk, ""
        if picker.choice and desk and not self.link.running:
            try:
                said = desk.pick(picker.choice)[1].said.removeprefix("picked ")
            except DrysideError as error:
                said = str(error)
        shown = self.query_one("#choice", Static)
        shown.update(said)
        shown.display = bool(said)

    def _ready(self) -> list[list[tuple[str, str]]]:
        """Tell what lies ready, under the keys that begin it."""
        desk = self.link.desk
        if desk is None:
            return []
        strip, cross = desk.strip, desk.cross
        from_s = format_time(strip.base_s)
        first = [("s", f"strip from {from_s} by {strip.step}, {strip.patches} patches")]
        across = f"cross of {cross.soft.steps} by {cross.hard.steps}" if cross else "cross"
        first.append(("k", across))
        lines = [first]
        if desk.score:
            from controller.score.report import ready_words  # too heavy for the first picture

            of = f", for {desk.edition}" if desk.edition else ""
            lines.append([("n", ready_words(desk.score, desk.sheets) + of)])
        more = [("t", "trial piece")] if Order.TRIAL in desk.orders() else []
        if desk.lying:
            more.append(("+", f"add to {desk.lying.mark}"))
        if more:
            lines.append(more)
        return lines

    # -- keys --------------------------------------------------------------------------------

    def action_order(self, order: str) -> None:
        """Order something from the desk."""
        self.link.order(order)

    def action_wish(self, name: str) -> None:
        """Say something about the sheet in hand."""
        self.terminal.action_wish(name)

    def action_choose(self, order: str) -> None:
        """Order something that takes a choice, once it is chosen."""
        desk, wanted = self.link.desk, Order(order)
        if desk is None or self.link.running:
            return
        choices = desk.choices(wanted)
        if not choices:
            self.app.notify(MISSING[wanted], timeout=6, markup=False)
            return
        from ui.terminal.screens.ask import AskScreen

        def answered(choice: str | None) -> None:
            if choice:
                self.link.order(order, choice)

        self.app.push_screen(AskScreen(QUESTIONS[wanted], dict.fromkeys(choices)), answered)

    def action_pick(self, across: int, down: int = 0) -> None:
        """Move the cursor of the picker."""
        self.query_one(Picker).move(across, down)

    def on_picker_moved(self) -> None:
        """Say what would be picked."""
        self._say_choice()

    def action_take(self) -> None:
        """Pick what is under the cursor; while something runs this is the pedal."""
        choice = self.query_one(Picker).choice
        if choice and not self.link.running:
            self.link.order(Order.PICK.value, choice)
        else:
            self.terminal.action_tap()

    def on_picker_chosen(self, message: Picker.Chosen) -> None:
        """Pick what was clicked."""
        self.link.order(Order.PICK.value, message.choice)

    def room_commands(self) -> Iterator[SystemCommand]:
        """Give the orders, and the wishes about the sheet in hand."""
        for order in Order:
            if order in QUESTIONS:
                yield SystemCommand(
                    order.value.capitalize(),
                    QUESTIONS[order],
                    lambda order=order: self.action_choose(order.value),
                )
            elif order is not Order.PICK:
                yield SystemCommand(
                    order.value.capitalize(),
                    "from the desk",
                    lambda order=order: self.link.order(order.value),
                )
        yield SystemCommand("Abandon", "end what runs", lambda: self.terminal.wish_now("abandon"))
        yield SystemCommand("Spoiled", "new sheet", lambda: self.terminal.wish_now("spoiled"))
        yield SystemCommand(
            "Wrong filter", "was in the light", lambda: self.terminal.action_wish("wrong filter")
        )
        yield SystemCommand(
            "Unsure", "the card moved late", lambda: self.terminal.action_wish("unsure")
        )
