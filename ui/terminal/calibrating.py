"""What was typed for the calibration sheets of this evening. Kept while the terminal runs."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Calibrating:
    """The form as it was left, by field, and which sheet of its set was begun last (from 0).

    It is of one box: another begins anew, but for what is of the enlarger.
    """

    box: str = ""
    typed: dict[str, str] = field(default_factory=dict)
    begun: int | None = None

    def of(self, box: str) -> dict[str, str]:
        """Give what was typed, as far as it holds for this box."""
        if box != self.box:
            self.box, self.begun = box, None
            for name in ("developer", "time"):
                self.typed.pop(name, None)
        return self.typed

    def next_of(self, count: int) -> int:
        """Give which sheet of a set of so many is to be made next."""
        return 0 if self.begun is None else (self.begun + 1) % max(1, count)
