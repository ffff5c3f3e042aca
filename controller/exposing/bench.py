"""The bench: what stays true from one plan to the next, and what can be seen of a running one."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

import msgspec

from controller.ports import NO_FILTER, Carrier, Filter, Hands, Lens, Wants

OPEN, CAPPED = "open", "capped"
WORKING = "working"  # whatever aperture the printer works at


@dataclass
class Bench:
    """What the unit remembers between plans of one evening."""

    lamp_off_ns: int | None = None  # when the lamp last went off; None: long ago
    lens: str = ""  # the aperture as it was asked for, open or capped; "" is not known
    filter: Filter = field(default_factory=lambda: Filter(NO_FILTER))  # none until one is told
    negative: bool = True
    box_open: bool = False  # light would reach more paper than the sheet
    lit: dict[str, bool | None] = field(default_factory=dict)  # outputs as they really are
    changed_ns: dict[str, int] = field(default_factory=dict)  # when each last changed
    pulses: int = 0  # counted, so that every pulse has a number of its own

    def stands(self, hands: Hands | None) -> bool:
        """Does what is asked for stand at the enlarger already, as far as was told?"""
        match hands:
            case Lens(aperture=aperture) if aperture == WORKING:
                return self.lens not in ("", OPEN, CAPPED)
            case Lens(aperture=aperture):
                return aperture == self.lens
            case Filter():
                return hands == self.filter
            case Carrier(negative=negative):
                return negative == self.negative
        return False

    def standing(self) -> tuple[Hands, ...]:
        """Give what stands at the enlarger, as far as was told."""
        lens: tuple[Hands, ...] = (Lens(self.lens),) if self.lens else ()
        return (*lens, self.filter, Carrier(self.negative))

    def told(self, hands: Hands | None) -> None:
        """The printer says that it was done."""
        match hands:
            case Lens(aperture=aperture):
                self.lens = aperture
            case Filter():
                self.filter = hands
            case Carrier(negative=negative):
                self.negative = negative
            case _:
                pass


class State(Enum):
    """Where the runner is."""

    READY = "ready"  # between two actions
    ASKING = "asking"  # waits for the tap that says "done"
    WAITING = "waiting"  # waits for the tap after which light follows
    CURTAIN = "curtain"  # waits for the screen to be black
    SETTLING = "settling"  # waits for safelights
    NOTING = "noting"  # waits for the book to hold the intention
    LEAD_IN = "lead-in"  # lets the bench settle
    LIT = "lit"
    DWELLING = "dwelling"  # paper lies in the light of the room, as long as it was told
    PASSING = "passing"  # time passes that nobody can hurry
    GAP = "gap"  # between two pulses of a series
    PAUSED = "paused"
    CHOOSING = "choosing"  # speaks choices
    OVER = "over"


# The legal moves. Anything else is a mistake in the program, and stops it before any light.
# Every state may go to OVER: a sheet can always be abandoned.
MOVES: dict[State, frozenset[State]] = {
    State.READY: frozenset(
        {
            State.ASKING,
            State.WAITING,
            State.CURTAIN,
            State.SETTLING,
            State.NOTING,
            State.LEAD_IN,
            State.PASSING,
        }
    ),
    State.ASKING: frozenset({State.READY, State.CHOOSING}),
    State.WAITING: frozenset({State.READY, State.CHOOSING}),
    State.CURTAIN: frozenset({State.READY, State.WAITING, State.PAUSED}),
    State.SETTLING: frozenset({State.READY, State.WAITING, State.PAUSED}),
    State.NOTING: frozenset({State.LEAD_IN, State.WAITING, State.PAUSED}),
    State.LEAD_IN: frozenset({State.LIT, State.DWELLING, State.WAITING, State.PAUSED}),
    State.LIT: frozenset({State.GAP, State.PAUSED, State.READY, State.WAITING}),
    State.DWELLING: frozenset({State.PAUSED, State.READY}),
    State.PASSING: frozenset({State.READY}),
    State.GAP: frozenset({State.LIT, State.PAUSED}),
    State.PAUSED: frozenset({State.CHOOSING, State.NOTING, State.READY}),
    State.CHOOSING: frozenset({State.ASKING, State.WAITING, State.PAUSED, State.READY}),
    State.OVER: frozenset(),
}
# In these, light falls or will fall without a further tap: a foot going down stops it.
LIGHT = frozenset(
    {
        State.CURTAIN,
        State.SETTLING,
        State.NOTING,
        State.LEAD_IN,
        State.LIT,
        State.DWELLING,
        State.GAP,
    }
)


class View(msgspec.Struct, frozen=True, tag="view"):
    """What can be shown of a running plan. Times are monotonic, so that a screen counts itself."""

    state: State = State.READY
    wants: Wants = Wants.NOTHING
    text: str = ""  # what the hands must do next, or what is happening
    mark: str = ""
    label: str = ""
    dose_s: float = 0.0
    left_s: float = 0.0  # of the dose; while lit, as it was when the pulse began
    lit_ns: int | None = None  # since when the lamp is really lit
    until_ns: int | None = None  # when what is going on will end
    action: int = 0  # place in the plan
    lit: dict[str, bool | None] = {}  # outputs as they really are; None: unknown
    curtain: bool = False
    standing: tuple[Hands, ...] = ()  # at the enlarger: what is not asked for again


class ProvingView(msgspec.Struct, frozen=True, tag="proving"):
    """The tests of the room that are worth asking for, and what is asked of a sheet now."""

    tests: tuple[str, ...] = ()
    question: str = ""
    answers: tuple[str, ...] = ()


class SheetShown(msgspec.Struct, frozen=True):
    """What a sheet has used of its safe time: ``used`` (1 is all of it) at ``at_ns``.

    From then on ``per_s`` more of it each second, so that a screen counts itself. ``words`` says
    what a figure does not.
    """

    mark: str
    where: str
    used: float
    per_s: float = 0.0
    words: str = ""


class PaperView(msgspec.Struct, frozen=True, tag="paper"):
    """Every sheet that light has reached, and the box: None where nobody told of it."""

    at_ns: int
    sheets: tuple[SheetShown, ...] = ()
    box_open: bool | None = None
    unproved: tuple[str, ...] = ()  # lights that burn and were never tested
