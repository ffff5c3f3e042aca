"""What can be asked for while nothing runs. Light to load: it is part of the wire's words."""

from __future__ import annotations

from enum import Enum

import msgspec


class Order(Enum):
    """What can be asked for while nothing runs, in the words in which it is spoken."""

    PICK = "pick"
    PRINT = "print"
    STRIP = "strip"
    FOCUS = "focus light"
    PLACING = "placing light"


class Ordered(msgspec.Struct, frozen=True, tag="ordered"):
    """An order was given; ``choice`` is the patch of a pick."""

    order: str
    choice: str = ""
