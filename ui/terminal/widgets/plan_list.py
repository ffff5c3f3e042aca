"""The plan as a list, with the line in hand marked and kept in sight."""

from __future__ import annotations

from textual.containers import VerticalScroll
from textual.widgets import Static

from controller.plan import Action, Expose, Plan, describe


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
            self.mount_all(self._lines)
        if plan is None or at == self._at:
            return
        lines = self._lines
        for index, line in enumerate(lines):
            line.set_class(index == at, "-here")
            line.set_class(index < at, "-past")
        self._at = at
        if 0 <= at < len(lines):
            self.scroll_to_widget(lines[at], animate=False, center=True)


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
