"""What commands that read a sheet share: numbers from a file, and what is told afterwards."""

from __future__ import annotations

from pathlib import Path

from controller.boxes.sheets_made import Kept
from controller.boxes.told import curve_line
from controller.errors import BadInput

LONGEST_NAME = 255  # of a file: longer is a list of numbers


def told(kept: Kept) -> list[str]:
    """Tell the curve of a sheet, or why there is none."""
    if kept.curve is None:
        return [kept.why] if kept.why else []
    return [curve_line(kept.curve)]


def typed_or_file(text: str, where: str) -> str:
    """Give what was typed, or what a file of that name holds, its # comments left out.

    Raises BadInput for a file that cannot be read.
    """
    path = Path(text)
    try:
        if len(text) > LONGEST_NAME or not path.is_file():
            return text
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, ValueError) as error:
        what = getattr(error, "strerror", None) or "it is no text"
        raise BadInput(f"{path} cannot be read ({what})", where, "a text of numbers") from None
    return " ".join(line.partition("#")[0] for line in lines)
