"""What a foot can ask for while nothing runs: a long press, and choices spoken one by one.

Sans-I/O. Silence changes nothing; a tap takes what was spoken last.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeAlias

from controller.desk.orders import Order, Ordered
from controller.enlarger.lamp import ns
from controller.exposing.foot import Foot, FootTimes, Gesture
from controller.ports import Cue, Sound, Wants

WORD_S = 0.4  # a spoken choice needs so long to be heard
FOOT_LOOK_S = 0.1  # how often to look whether a foot that is down has gone


Said: TypeAlias = Cue | Ordered


class Offers(Protocol):
    """What can be asked for now."""

    def orders(self) -> Sequence[Order]:
        """Give what can be asked for, the likeliest first."""

    def choices(self, order: Order) -> Sequence[str]:
        """Give what can be chosen from for an order; none where it takes no choice."""


class OffersOfPaper(Offers, Protocol):
    """The same, of paper and lights; some of it before the rest, and some after."""

    def later_orders(self) -> Sequence[Order]:
        """Give what is not so likely."""


class Together:
    """What paper and desk have to offer."""

    def __init__(self, paper: OffersOfPaper, desk: Offers) -> None:
        self._paper = paper
        self._desk = desk

    def orders(self) -> list[Order]:
        """Give what can be asked for, the likeliest first."""
        return [*self._paper.orders(), *self._desk.orders(), *self._paper.later_orders()]

    def choices(self, order: Order) -> list[str]:
        """Give what can be chosen from for an order; none where it takes no choice."""
        return [*self._paper.choices(order), *self._desk.choices(order)]


class Menu:
    """The foot's way to say what comes next."""

    def __init__(self, times: FootTimes) -> None:
        self._times = times
        self._foot = Foot(times)
        self._offered: list[Ordered] = []
        self._held: Ordered | None = None  # what was offered when the foot went down
        self._until_ns: int | None = None

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        times = (self._foot.next_ns, self._until_ns)
        return min((t for t in times if t is not None), default=None)

    @property
    def cue(self) -> Cue | None:
        """Give what is being offered, for a screen."""
        return self._words(self._offered[0]) if self._offered else None

    def step(self, now_ns: int, offers: Offers, down: bool | None = None) -> list[Said]:
        """Take the time and perhaps an edge of the pedal; gives what is said or ordered."""
        out: list[Said] = []
        if down is not None:
            self._gesture(now_ns, offers, self._foot.edge(now_ns, down, light=False), out)
        self._gesture(now_ns, offers, self._foot.wake(now_ns), out)
        if self._until_ns is not None and now_ns >= self._until_ns:
            if self._foot.down:
                self._until_ns = now_ns + ns(FOOT_LOOK_S)  # it may mean this very word
                return out
            self._offered = self._offered[1:]
            self._speak(now_ns, out)
        return out

    def gone(self, now_ns: int, offers: Offers) -> list[Said]:
        """The pedal was unplugged while it was down: that takes nothing."""
        out: list[Said] = []
        self._held = None
        self._gesture(now_ns, offers, self._foot.gone(now_ns), out)
        return out

    def offer(self, now_ns: int, offers: Offers, order: Order) -> list[Said]:
        """Speak the choices of an order, unasked; silence changes nothing."""
        out: list[Said] = []
        self._held = None
        self._offered = [Ordered(order.value, choice) for choice in offers.choices(order)]
        self._speak(now_ns, out)
        return out

    def _gesture(
        self, now_ns: int, offers: Offers, gesture: Gesture | None, out: list[Said]
    ) -> None:
        match gesture:
            case Gesture.FELT:
                self._held = self._offered[0] if self._offered else None
                out.append(Cue(sound=Sound.PRESS))
            case Gesture.LONG:
                self._offered = [Ordered(order.value) for order in offers.orders()]
                self._speak(now_ns, out)
            case Gesture.TAP if self._held:
                taken, self._offered, self._until_ns = self._held, [], None
                choices = offers.choices(Order(taken.order))
                if choices and not taken.choice:
                    self._offered = [Ordered(taken.order, choice) for choice in choices]
                    self._speak(now_ns, out)
                else:
                    out.append(taken)
            case Gesture.TAP | Gesture.NOT_TAKEN:
                out.append(Cue(sound=Sound.NOT_TAKEN))
            case Gesture.STUCK:
                text = "the pedal is stuck; nothing is lit until it is free"
                out.append(Cue(text, Sound.FAULT))
            case Gesture.FREE:
                out.append(Cue("pedal free", Sound.ATTENTION))
            case _:
                pass

    def _speak(self, now_ns: int, out: list[Said]) -> None:
        if not self._offered:
            self._until_ns = None
            return
        out.append(self._words(self._offered[0]))
        self._foot.deafen(now_ns, WORD_S)
        self._until_ns = now_ns + ns(self._times.choice_s)

    @staticmethod
    def _words(offered: Ordered) -> Cue:
        text = offered.choice.replace("-", " ") or offered.order
        return Cue(text, Sound.PROMPT, Wants.CHOICE)
