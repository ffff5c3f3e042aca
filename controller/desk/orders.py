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
    ROOM_TEST = "room test"
    READ_TEST = "read the test"
    LEAVE_OUT = "leave a light out"
    IN_STOP = "in the stop bath"
    PUT_AWAY = "back in the box"
    OUT_AGAIN = "out of the box"
    CUTTING = "cutting strips"
    BOX_SHUT = "box shut"
    NEW_BOX = "new box of paper"
    ROOM_LIGHT = "room light"
    VIEWING_LIGHT = "viewing light"


# What is said of paper, and of the lights that depend on it: it may be said while a plan runs.
OF_PAPER = frozenset(
    {
        Order.IN_STOP,
        Order.PUT_AWAY,
        Order.OUT_AGAIN,
        Order.CUTTING,
        Order.BOX_SHUT,
        Order.NEW_BOX,
    }
)
OF_A_SHEET = frozenset({Order.IN_STOP, Order.PUT_AWAY, Order.OUT_AGAIN})
OF_LIGHT = {Order.ROOM_LIGHT: "room", Order.VIEWING_LIGHT: "viewing"}


class Ordered(msgspec.Struct, frozen=True, tag="ordered"):
    """An order was given; ``choice`` is a patch, a region or an extra, where it takes one."""

    order: str
    choice: str = ""
