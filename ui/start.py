"""How ``dryside`` begins. Without a word at a terminal the words are never loaded."""

from __future__ import annotations

import gc
import sys


def main() -> None:
    """Open the terminal, or run the command line; every fault is one sentence and exit code 2."""
    if len(sys.argv) > 1 or not (sys.stdin.isatty() and sys.stdout.isatty()):
        from ui.cli import main as command_line

        command_line()
        return
    gc.disable()  # nothing of what is loaded is rubbish; the terminal enables it again
    from controller.errors import DrysideError
    from controller.ports import PortFault
    from ui.commands.terminal import start_without_words

    try:
        start_without_words()
    except KeyboardInterrupt:
        sys.exit(130)
    except (DrysideError, PortFault) as error:
        print(error, file=sys.stderr)
        sys.exit(2)


if __name__ == "__main__":
    main()
