"""What may go wrong, said so that it helps.

    DrysideError
     +-- BadInput      something that was given cannot be read or used
     +-- Refused       it can be read, but a plan for it cannot be made

Both are one sentence for the printer. The command line shows it and leaves with exit code 2;
nothing below it knows of exit codes.
"""

from __future__ import annotations

LONGEST_QUOTE = 40  # characters of somebody's input that are worth repeating


class DrysideError(Exception):
    """The root of everything that Dryside raises on purpose."""


class BadInput(DrysideError):
    """Something that was given cannot be used.

    ``what`` is wrong (without a full stop), ``where`` it was found (a file, a field, an
    option) and ``right`` is what would be right. ``str()`` makes one sentence of the three.
    """

    def __init__(self, what: str, where: str, right: str) -> None:
        super().__init__(what, where, right)
        self.what = what
        self.where = where
        self.right = right

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; right would be {self.right}."


class Refused(DrysideError):
    """A plan that cannot be made: ``why``, and in ``instead`` the variants that can.

    Each variant is a phrase that ends "try ...", such as ``"4 patches"`` or ``"the window"``.
    """

    def __init__(self, why: str, instead: tuple[str, ...] = ()) -> None:
        super().__init__(why, instead)
        self.why = why
        self.instead = instead

    def __str__(self) -> str:
        if not self.instead:
            return f"{self.why}."
        *first, last = self.instead
        return f"{self.why}; try {', '.join(first) + ' or ' if first else ''}{last}."


def quoted(text: str) -> str:
    """Repeat somebody's input in a sentence: in quotes, on one line, and not too much of it."""
    if len(text) > LONGEST_QUOTE:
        text = text[: LONGEST_QUOTE - 3] + "..."
    return repr(text)
