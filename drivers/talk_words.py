"""What the engine and the talking book's process say to each other."""

from __future__ import annotations

from typing import TypeAlias

import msgspec


class Resume(msgspec.Struct, frozen=True, tag="resume"):
    """Go on."""


class Halt(msgspec.Struct, frozen=True, tag="halt"):
    """Be silent, and keep the place."""


class Lower(msgspec.Struct, frozen=True, tag="lower"):
    """Be low for so many seconds at least."""

    for_s: float


class Skip(msgspec.Struct, frozen=True, tag="skip"):
    """Go on with the next file."""


class Notice(msgspec.Struct, frozen=True, tag="notice"):
    """Something that the printer should be told, in one sentence; ``last``: and why it ends."""

    sentence: str
    last: bool = False


ToTalk: TypeAlias = Resume | Halt | Lower | Skip
FromTalk: TypeAlias = Notice
