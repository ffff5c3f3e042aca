"""An empty Textual program: what the terminal's start is compared with.

Run by the benchmark under a pseudo-terminal: ``python -P -m ui.measure.empty_screen``.
"""

from __future__ import annotations

from textual.app import App


def main() -> None:
    """Show nothing, until it is ended."""
    App[None]().run()


if __name__ == "__main__":
    main()
