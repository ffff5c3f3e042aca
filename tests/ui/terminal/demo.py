"""A program that shows everything the toolkit can draw, to be walked by the colour tests.

Keys go from scene to scene; as a script it runs on the terminal it is started in.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.screen import ModalScreen
from textual.theme import Theme
from textual.widgets import (
    Button,
    Checkbox,
    DataTable,
    Digits,
    Footer,
    Header,
    Input,
    Label,
    LoadingIndicator,
    Log,
    Markdown,
    OptionList,
    ProgressBar,
    RadioButton,
    RadioSet,
    RichLog,
    Rule,
    Select,
    Sparkline,
    Static,
    Switch,
    TabbedContent,
    TabPane,
    TextArea,
    Tree,
)
from textual.widgets.option_list import Option

from ui.terminal.curtain import lift, lower
from ui.terminal.red import RedApp

TALL = "\n\n".join(f"paragraph {number} of *many* with `code`" for number in range(30))


class Dialog(ModalScreen[None]):
    CSS = "Dialog { align: center middle; background: blue 30%; }"
    BINDINGS = [("escape", "dismiss", "close")]

    def compose(self) -> ComposeResult:
        yield Button("Yes, in green", variant="success")
        yield Button("No, in red", variant="error")


class Moving(Static):
    """Never twice the same, as fast as the screen goes."""

    def on_mount(self) -> None:
        self._count = 0
        self._timer = self.set_interval(1 / 50, self._step, pause=True)

    def on_show(self) -> None:
        self._timer.resume()

    def on_hide(self) -> None:
        self._timer.pause()

    def _step(self) -> None:
        self._count += 1
        self.update(f"[white on green]moving {self._count:6}[/]")


class Demo(RedApp[None]):
    CSS = """
    TabbedContent { height: 1fr; }
    #clear { background: transparent; color: ansi_default; }
    #tinted { tint: lime 40%; border: round cyan; border-title-color: yellow; outline: heavy blue; }
    .pair { height: 3; }
    """
    BINDINGS = [
        Binding("f2", "toast", "toast"),
        Binding("f3", "dialog", "dialog"),
        Binding("f4", "show_help_panel", "keys"),
        Binding("f5", "crash", "crash"),
        Binding("f6", "lower", "lower", priority=True),
        Binding("f7", "lift", "lift", priority=True),
        Binding("f8", "step", "brightness", priority=True),
        Binding("f9", "link", "link", show=False),
        Binding("f10", "quit", "leave", priority=True),
    ]
    SCENES = ("inputs", "lists", "figures", "words", "raw")

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.lowered: list[bool] = []

    def compose(self) -> ComposeResult:
        yield Header(show_clock=True)
        with TabbedContent():
            with TabPane("inputs", id="inputs"):
                yield Input("some text to select", id="input")
                yield Input(placeholder="nothing typed yet", valid_empty=False)
                yield Select([("one", 1), ("two", 2)], id="select")
                with Horizontal(classes="pair"):
                    yield Checkbox("check", value=True)
                    yield Switch(value=True)
                    yield Button("warning", variant="warning", tooltip="a tip in colours")
                yield TextArea("x = 1  # words", language=None, show_line_numbers=True)
            with TabPane("lists", id="lists"):
                yield DataTable(id="table", zebra_stripes=True, cursor_type="cell")
                with Horizontal():
                    yield OptionList(*(Option(f"option {n}") for n in range(40)))
                    with RadioSet():
                        yield RadioButton("first", value=True)
                        yield RadioButton("second")
                    yield Tree("root")
            with TabPane("figures", id="figures"):
                yield Moving()
                yield Digits("12.75")
                yield ProgressBar(total=100, id="bar")
                yield ProgressBar(id="endless")
                yield Sparkline([1, 5, 2, 9, 3, 7] * 9)
                yield LoadingIndicator()
                yield Rule(line_style="double")
            with TabPane("words", id="words"), VerticalScroll():
                yield Markdown(
                    "# Title\n\n[a link](https://example.org) and **bold**\n\n> quote\n\n"
                    "| a | b |\n|---|---|\n| 1 | 2 |\n\n```python\nx = 'green'\n```\n\n" + TALL
                )
            with TabPane("raw", id="raw"), VerticalScroll():
                yield Static("[@click=app.toast]click me[/] [link='https://example.org']out[/]")
                yield Static("[reverse]reverse[/] [blink]blink[/] [dim]dim[/] [u]under[/] [b]b[/]")
                yield Static(Text.from_ansi("\x1b[32mgreen \x1b[7mreversed\x1b[0m plain"))
                yield Static(Text("default on default", style="default on default"))
                yield Label("clear", id="clear")
                yield Static("tinted", id="tinted")
                yield RichLog(id="richlog")
                yield Log(id="log")
        yield Footer()

    def on_mount(self) -> None:
        table = self.query_one("#table", DataTable)
        table.add_columns("patch", "seconds", "stops")
        for row in range(40):
            table.add_row(row, Text(f"{row * 1.5}", style="bold green"), "1/3")
        self.query_one("#bar", ProgressBar).advance(40)
        self.query_one("#tinted", Static).border_title = "title"
        self.query_one("#richlog", RichLog).write({"a": [1, True, None, "text"]})
        self.query_one("#log", Log).write_line("a line")
        self.query_one(Tree).root.expand().add_leaf("leaf")

    def scene(self, name: str) -> None:
        self.query_one(TabbedContent).active = name

    def action_toast(self) -> None:
        for severity in ("information", "warning", "error"):
            self.notify("a notice", title="title", severity=severity)  # type: ignore[arg-type]

    def action_dialog(self) -> None:
        self.push_screen(Dialog())

    def action_crash(self) -> None:
        raise ValueError("made to fail")

    def action_step(self) -> None:
        self.step_brightness()

    async def action_lower(self) -> None:
        # longer than the unit waits: a busy machine is no terminal that hangs
        self.lowered.append(await lower(self, deadline_s=CURTAIN_S))

    async def action_lift(self) -> None:
        await lift(self)

    def key_f11(self) -> None:
        """Walk on to the next scene."""
        tabs = self.query_one(TabbedContent)
        self.scene(self.SCENES[(self.SCENES.index(tabs.active) + 1) % len(self.SCENES)])


class Bare(Demo):
    """The same without the filter: the tests must find it out."""

    def get_line_filters(self) -> Any:
        return self._filters[:1]


class BadSheet(Demo):
    """A style sheet that cannot be read."""

    CSS = "Nothing { colour: }"


CURTAIN_S = 0.5
WHITE = Theme("white", primary="#00ff00", background="#ffffff", dark=False)
KINDS = {"red": Demo, "bare": Bare, "bad sheet": BadSheet}


class FilePanel:
    """A panel whose switch is a file."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def off(self) -> None:
        self._path.write_text("off")

    def restore(self) -> None:
        self._path.write_text("on")


if __name__ == "__main__":
    home = Path(sys.argv[1])
    app = KINDS[sys.argv[2]](log_file=home / "terminal.log", panel=FilePanel(home / "panel"))
    app.run()
    (home / "lowered").write_text(json.dumps(app.lowered))
    sys.exit(app.return_code)
