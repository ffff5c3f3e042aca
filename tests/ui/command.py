"""What a command of the command line comes to."""

from __future__ import annotations

Told = tuple[int, str, str]  # exit code, output, errors
