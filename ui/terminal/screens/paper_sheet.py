"""A calibration sheet: the form that shows its plan as it is typed, and has it made."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Input, Label, Select, Static

from controller.boxes.asked import AskedSheet, sheets_asked
from controller.boxes.sheet import PaperSheet, plan_paper_sheet
from controller.boxes.tablet import NOMINAL, NOMINAL_WARNING
from controller.errors import DrysideError
from controller.numbered import numbered
from controller.plan import Plan
from controller.rig.lights import around
from ui.commands.paper_keep import typed_or_file
from ui.terminal.screens.paper_form import MOVING, PaperForm, chooser
from ui.terminal.sentence import sentence

if TYPE_CHECKING:
    from controller.boxes.model import Batch

STEPS, TABLET, SPLIT = "steps", "tablet", "split"
KINDS = (("a wedge", STEPS), ("a tablet", TABLET), ("soft+hard", SPLIT))
TOOLS = (("card", "card"), ("window", "window"))
CALLED = {
    "filter": "filters",
    "split": "filters",
    "base": "dose",
    "hard-base": "hard dose",
    "lux": "light, lux",
    "aperture": "lens",
    "size": "size mm",
    "mode": "tool",
}
OF = {  # which fields a kind has besides those that all have
    STEPS: ("step", "patches", "mode"),
    TABLET: ("tablet",),
    SPLIT: ("hard", "step", "mode"),
}
NO_SHEET = "-"


class SheetScreen(PaperForm):
    """Where a calibration sheet is prepared, and started."""

    HELP_TEXT: ClassVar[str] = (
        "Patches of known exposure on this paper, the negative out. A wedge: growing exposures "
        "through one filter (several with commas: a sheet each), the dose that of patch A. A "
        "tablet: one exposure through a step tablet in contact (21, 31, 41, its densities, or a "
        "file of them). Soft+hard: the three sheets that a paper of two filters wants; type both, "
        "00, 5. Light is the easel's in lux, without filter and negative: without it there is a "
        "range and no speed. ctrl+s makes the sheet in the last field; then come back for the next."
    )
    FIELDS = (
        ("filters", "filters", "none, or 2, 3"),
        ("base", "dose", "1.2"),
        ("hard", "hard dose", "the same"),
        ("step", "step", "2/5"),
        ("patches", "patches", "21"),
        ("tablet", "tablet", "31, or a file"),
        ("lux", "light, lux", "not metered"),
        ("aperture", "lens", "aperture"),
        ("size", "size mm", "203x25"),
        ("developer", "developer", "the box's own"),
        ("time", "time", "the box's own"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "make", "make it", id="sheet.make"),
        *MOVING,
    ]
    AUTO_FOCUS = "#of-filters"

    def __init__(self, batch: Batch) -> None:
        super().__init__()
        self._batch = batch
        self._names: list[str] = []  # of the sheets of the set

    def compose_room(self) -> ComposeResult:
        """Lay out the form over the plan."""
        typed = self.terminal.calibrating.of(self._batch.handle)
        with Grid(classes="form -tight"):
            yield Label("sheet")
            yield chooser("kind", KINDS, typed.get("kind", STEPS))
            yield from self.fields("filters", "base", "hard", "step", "patches")
            yield Label("tool")
            yield Select(
                TOOLS,
                id="of-mode",
                value=typed.get("mode", "card"),
                allow_blank=False,
                compact=True,
            )
            yield from self.fields("tablet", "lux", "aperture", "size", "developer", "time")
            yield Label("make")
            yield chooser("which", ((NO_SHEET, NO_SHEET),), NO_SHEET)
        yield Static("", id="told", markup=False)
        with VerticalScroll(id="change-lines", can_focus=False):
            yield Static("", id="lines", classes="quiet", markup=False)

    def on_mount(self) -> None:
        """Begin with what was typed for the sheet before."""
        super().on_mount()
        typed = self.terminal.calibrating.of(self._batch.handle)
        with self.prevent(Input.Changed):
            for name, _, _ in self.FIELDS:
                self.query_one(f"#of-{name}", Input).value = typed.get(name, "")
        developing = self._batch.developing
        if developing.developer:
            self.query_one("#of-developer", Input).placeholder = developing.developer
        if developing.time_s:
            self.query_one("#of-time", Input).placeholder = f"{developing.time_s:g}s"
        self.judge()

    def on_select_changed(self, event: Select.Changed) -> None:  # type: ignore[override]
        """Show what is chosen; another kind begins a set anew."""
        calibrating = self.terminal.calibrating
        if event.select.id == "of-kind" and calibrating.typed.get("kind", STEPS) != event.value:
            calibrating.begun = None
        self.judge()

    def _asked(self) -> AskedSheet:
        kind = self.chosen("kind")
        typed = {name: self.typed(name) for name, _, _ in self.FIELDS}
        self.terminal.calibrating.typed |= {**typed, "kind": kind, "mode": self.chosen("mode")}
        usual = AskedSheet()
        filters = typed["filters"]
        return AskedSheet(
            filters=() if kind == SPLIT else tuple(filter(None, filters.split(","))),
            split=(filters or "00") if kind == SPLIT else "",
            base=typed["base"] or usual.base,
            hard=typed["hard"] if kind == SPLIT else "",
            step=typed["step"] or usual.step,
            patches=typed["patches"] or usual.patches,
            mode=self.chosen("mode"),
            tablet=typed_or_file(typed["tablet"] or "31", "--tablet") if kind == TABLET else "",
            lux=typed["lux"],
            aperture=typed["aperture"],
            size=typed["size"],
            developer=typed["developer"],
            time=typed["time"],
        )

    def judge(self) -> tuple[Plan, PaperSheet] | None:  # type: ignore[override]
        """Show the plan of the sheet that is next, or why there is none."""
        kind, lines = self.chosen("kind"), self.query_one("#lines", Static)
        for name in {name for names in OF.values() for name in names}:
            self.query_one(f"#of-{name}").disabled = name not in OF[kind]
        try:
            sheets = sheets_asked(self._batch, self._asked())
            sheet = sheets[self._which(sheets)]
            rig = self.link.unit.rig
            plan = plan_paper_sheet(sheet, rig.calibration(), rig.limits(), around(rig))
        except DrysideError as error:
            lines.update("")
            self.tell(sentence(error, CALLED), refused=True)
            return None
        nominal = kind == TABLET and (self.typed("tablet") or "31") in NOMINAL
        lines.update("\n".join((*([NOMINAL_WARNING, ""] if nominal else []), *plan.lines())))
        count = len(list(plan.exposures()))
        self.tell(f"{numbered(count, 'exposure')}; ctrl+s makes it")
        return plan, sheet

    def _which(self, sheets: list[PaperSheet]) -> int:
        """Give the sheet of the set that is to be made: as chosen, else the next."""
        count = len(sheets)
        titles = [one.title().partition(", ")[2] for one in sheets]
        names = [f"{n} of {count}: {one}" for n, one in enumerate(titles, start=1)]
        field = self.query_one("#of-which", Select)
        if names != self._names:
            self._names = names
            with self.prevent(Select.Changed):
                field.set_options([(name, name) for name in names])
                field.value = names[self.terminal.calibrating.next_of(count)]
        value = str(field.value)
        return names.index(value) if value in names else 0

    def action_make(self) -> None:
        """Have it made, and go to the bench."""
        judged = self.judge()
        if judged is None:
            return
        if self.link.running:
            self.tell("a plan is running already; this can be made when it is over", refused=True)
            return
        plan, sheet = judged
        self.terminal.calibrating.begun = self._names.index(self.chosen("which"))
        self.link.run(plan, sheet.model_dump_json())
        self.terminal.action_room("bench")
