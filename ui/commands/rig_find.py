"""``dryside rig find``: what is there, and a first rig file."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from enum import Enum
from pathlib import Path

from controller.errors import BadInput
from controller.rig.first import as_lines, first_rig
from drivers.looking.parts import look_for_parts
from ui import show
from ui.only_one import refuse_while_running


def find(ask: Sequence[str], write: str | None, *, json_: bool) -> None:
    """List the parts; ``write`` names a rig file to make. Raises BadInput, Refused."""
    if write is not None and Path(write).exists():
        raise BadInput("there is a file already", write, "a new name; nothing is overwritten")
    if ask:
        refuse_while_running()
    parts = look_for_parts(ask=ask)
    if write is not None:
        _write(Path(write), first_rig(parts))
    if json_:
        show.as_json(_plain(dataclasses.asdict(parts)) | {"written": write})
        return
    show.lines(as_lines(parts))
    if parts.ports and not ask:
        show.note(
            "Ports were not opened, since a relay may hang on one. To ask what answers: the "
            "lamp's plug out, then --ask PORT."
        )
    if write is not None:
        print(f"written: {write}; read it, change it, then: dryside rig check --rig {write}")


def _write(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        right = "a path that you may write to, where no file is"
        raise BadInput(f"it cannot be written ({error.strerror})", str(path), right) from None


def _plain(value: Mapping[str, object]) -> dict[str, object]:
    def one(each: object) -> object:
        if isinstance(each, Enum):
            return each.value
        if isinstance(each, Mapping):
            return {str(key): one(inner) for key, inner in each.items()}
        if isinstance(each, list | tuple):
            return [one(inner) for inner in each]
        return each

    return {key: one(each) for key, each in value.items()}
