"""What may go wrong with the book."""

from __future__ import annotations

from controller.errors import DrysideError


class BookFault(DrysideError):
    """The book cannot do this now. The message is one sentence for the printer.

    Whoever exposes goes on without the book: the light never depends on it.
    """
