"""A talking book in a rig file."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from controller.rig.table import Folder, Table


class TalkingFolder(Table):
    """A talking book or music of the user's own, played by the unit."""

    folder: Folder = Field(
        description="a folder of audio files (wav, mp3, flac, ogg) by its whole path, such as "
        '"~/book"'
    )
    volume: float = Field(
        0.5, ge=0, le=1, description="how loud it is; 1 is as loud as it was recorded"
    )
    under_prompts: float = Field(
        0.15, ge=0, le=1, description="the share of its volume that is left under a prompt"
    )
    starts: Literal["by-itself", "when-asked"] = Field(
        "by-itself",
        description='"by-itself" (whenever the unit starts) or "when-asked"',
    )
