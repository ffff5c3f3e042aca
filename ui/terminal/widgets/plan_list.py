"""The plan as a list, with the line in hand marked and kept in sight."""

from __future__ import annotations

from textual.containers import VerticalScroll
from textual.widgets import Static

from controller.plan import Action, Confirm, Expose, Plan, describe
from controller.ports import Carrier, Filter


class PlanList(VerticalScroll, can_focus=False):
    """Shows a plan, line by line."""

    def __init__(self, **more: str) -> None:
        super().__init__(**more)  # type: ignore[arg-type]
        self._plan: Plan | None = None
        self._at = -1
        self._lines: list[Static] = []  # those of before may still be on their way out

    def show(self, plan: Plan | None, at: int) -> None:
        """Show a plan with the action ``at`` in hand."""
        words = [_words(action) for action in plan.actions] if plan else []
        if plan is not self._plan:
            self._plan, self._at = plan, -1
            self.remove_children()
            self._lines = [Static(line, markup=False) for line in words]
            for line, action in zip(self._lines, plan.actions if plan else (), strict=True):
                line.display = not _usual(action)
            self.mount_all(self._lines)
        if plan is None or at == self._at:
            return
        lines = self._lines
        for index, line in enumerate(lines):
            line.set_class(index == at, "-here")
            line.set_class(index < at, "-past")
        self._at = at
        if 0 <= at < len(lines):
            lines[at].display = True  # what is asked for after all is shown
            self.scroll_to_widget(lines[at], animate=False, center=True)


def _usual(action: Action) -> bool:
    """Is it only asked for to be sure, and nearly always so: negative in, and no filter?"""
    match action:
        case Confirm(unless_so=True, hands=Carrier(negative=True) | Filter(name="none")):
            return True
    return False


def _words(action: Action) -> str:
    """Tell an action for a narrow list; what is held back during it has lines of its own."""
    # what a prompt waits for is said beside it; here there is room for its words only
    words = describe(action).partition(";")[0]
    if not isinstance(action, Expose):
        return words
    held = [
        f"  {work.shade.name} held {work.begin_s:.1f} to {work.end_s:.1f} s"
        for work in action.handwork
    ]
    return "\n".join([words, *held])
