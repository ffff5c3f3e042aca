"""What terminals and the engine say to each other over the engine's socket."""

from __future__ import annotations

from typing import TypeAlias

import msgspec

from controller.desk.orders import Ordered
from controller.events import Event
from controller.exposing.bench import PaperView, ProvingView, View
from controller.exposing.told import CurtainIs, LowerCurtain, Press, Run
from controller.ports import Cue
from controller.trays.clock import TraysView

ENGINE_SOCKET = "engine.sock"


class Attach(msgspec.Struct, frozen=True, tag="attach"):
    """A client introduces itself; one with a ``screen`` is asked to black it out."""

    screen: bool = False


class Shines(msgspec.Struct, frozen=True, tag="shines"):
    """How bright a client's screen is while no curtain is down, in percent."""

    percent: int


class Please(msgspec.Struct, frozen=True, tag="please"):
    """A wish, by the value of ``controller.exposing.told.Wish``."""

    wish: str


class Leave(msgspec.Struct, frozen=True, tag="leave"):
    """End the engine, unless a plan is running."""


class Arrange(msgspec.Struct, frozen=True, tag="arrange"):
    """Lay these things ready on the desk (``controller.desk.desk.Desk`` as JSON)."""

    desk: str


class Talk(msgspec.Struct, frozen=True, tag="talk"):
    """Let the talking book go on, or be silent."""

    on: bool


class Say(msgspec.Struct, frozen=True, tag="say"):
    """Ask something of the printer, by sound and speech and on every screen."""

    text: str


class OfTrays(msgspec.Struct, frozen=True, tag="of-trays"):
    """Something asked of the trays: choose (a process), put-in or take-off (a mark), or tap."""

    what: str
    name: str = ""
    celsius: float = 20.0
    factor: float | None = None  # of a developer, where the first image is to give its time


class DeskIs(msgspec.Struct, frozen=True, tag="desk-is"):
    """What lies ready on the desk, as JSON."""

    desk: str


class Play(msgspec.Struct, frozen=True, tag="play"):
    """Play a sound to somebody who learns it, by the value of ``controller.ports.Sound``."""

    sound: str


class Hello(msgspec.Struct, frozen=True, tag="hello"):
    """The engine introduces itself: its rig (name and digest), and what there is to know."""

    pid: int
    rig: str
    digest: str
    notes: tuple[str, ...] = ()
    running: str = ""  # record id of the plan in hand
    pace: int = 1  # of its time (`Clock`), in which everything is that it tells


class Refusal(msgspec.Struct, frozen=True, tag="refusal"):
    """Something that was asked for is not done; ``why`` is a sentence."""

    why: str


ToEngine: TypeAlias = (
    Attach
    | Run
    | Press
    | Please
    | CurtainIs
    | Leave
    | Arrange
    | Ordered
    | Play
    | Shines
    | Talk
    | Say
    | OfTrays
)
FromEngine: TypeAlias = (
    Hello
    | View
    | PaperView
    | ProvingView
    | TraysView
    | Cue
    | LowerCurtain
    | Refusal
    | DeskIs
    | Event
)
