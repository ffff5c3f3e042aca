"""What can be asked for while nothing runs. Light to load: it is part of the wire's words."""

from __future__ import annotations

from enum import Enum

import msgspec


class Order(Enum):
    """What can be asked for while nothing runs, in the words in which it is spoken."""

    PICK = "pick"
    PRINT = "print"
    ADD = "add"
    STRIP = "strip"
    CROSS = "cross"
    TRIAL = "trial piece"
    DRY_DOWN = "dry-down test"
    FOCUS = "focus light"
    PLACING = "placing light"


class Ordered(msgspec.Struct, frozen=True, tag="ordered"):
    """An order was given; ``choice`` is a patch, a region or an extra, where it takes one."""

    order: str
    choice: str = ""
