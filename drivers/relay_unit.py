"""A relay unit: a microcontroller that holds the relays, over USB serial, with a dead-man timer.

Firmware, protocol and how to build one are in ``drivers/firmware``. The unit turns everything
off by its own clock when the keeper's loop no longer lives (no thread feeds it), when the keeper
dies, and when the bound that came with a lamp's light is over.

Whatever happened, "off" is only told when the unit has confirmed it. After an answer that never
came, or anything that the unit told unasked, the states of all outputs are unknown until the
unit was introduced anew, which begins with all of them safe.

Options in the rig file, ``[board.relay-unit]``: ``port`` (required, best one of
/dev/serial/by-id), ``id`` (the unit's own name, if it is to be checked), ``dead_ms`` (silence
after which the unit turns everything off, 300) and ``answer_ms`` (how long an answer may take, 25).
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from time import monotonic_ns

from controller.ports import Line, PortFault
from drivers.relay_port import Held, Lost, Refusal, Talk, candidates

_MS = 1_000_000
_OPEN_NS = 3_000 * _MS  # a unit that was just plugged in takes a while
_HEAL_NS = 200 * _MS  # between two tries to reach a unit that was lost
_SOON_NS = 20 * _MS  # to the first of them: whoever has just waited in vain must get on
_RETRY_S = 0.005
_SAFE_TRIES = 3
_LIT_TRIES = 2  # a command to light that comes late is worse than a fault
_MARGIN_US = 50_000  # by which the unit's bound lies beyond the keeper's deadline,
_MARGIN_PART = 1000  # and this part of the time, for two clocks that differ
_LONGEST_MS = 3_620_000  # the longest that a rig allows, and its margin
_DEAD_MS = (100, 5_000)
_ANSWER_MS = (2, 1_250)


@dataclass(frozen=True, slots=True)
class Options:
    """What the rig file says of the board."""

    port: str
    board_id: str | None
    dead_ms: int
    answer_ms: int

    @classmethod
    def of(cls, options: Mapping[str, object]) -> Options:
        """Check the options. Raises PortFault."""
        known = ("port", "id", "dead_ms", "answer_ms")
        for name in options:
            if name not in known:
                raise PortFault(
                    f"[board.relay-unit] {name} is not known; right would be {', '.join(known)}"
                )
        port = options.get("port")
        if not isinstance(port, str) or not port.startswith("/"):
            here = candidates()
            found = f"; plugged in now: {', '.join(here)}" if here else ""
            raise PortFault(
                f"[board.relay-unit] port = {port!r}: it should be the path of the unit's serial "
                f'port, such as "/dev/serial/by-id/..."{found}'
            )
        board_id = options.get("id")
        if board_id is not None and not isinstance(board_id, str):
            raise PortFault(f"[board.relay-unit] id = {board_id!r}: it should be a word")
        dead_ms = _whole(options, "dead_ms", 300, _DEAD_MS)
        answer_ms = _whole(options, "answer_ms", 25, _ANSWER_MS)
        if dead_ms < 4 * answer_ms:
            raise PortFault(
                f"[board.relay-unit] answer_ms = {answer_ms}: it should be at most a quarter of "
                f"dead_ms = {dead_ms}, so that a lost answer can be asked for again in time"
            )
        return cls(port, board_id, dead_ms, answer_ms)


class RelayBoard:
    """The unit in the hands of its only owner (``controller.ports`` Outputs, Tended, Bounded)."""

    def __init__(self, lines: Sequence[Line], options: Options) -> None:
        self._options = options
        self._lines = _numbered(lines)
        self._lit: dict[str, bool | None] = dict.fromkeys(self._lines)
        self._doubtful: set[str] = set()  # to be told by the next alive()
        self._beat: tuple[int, int] | None = None  # number and time of a heartbeat on its way
        self._talk: Talk | None = None
        self._why = "it was never reached"
        self._heal_ns = 0
        until_ns = monotonic_ns() + _OPEN_NS
        while self._talk is None:
            try:
                self._introduce()
            except Held as lost:
                raise self._fault(lost, "end that program, or choose another port") from None
            except Lost as lost:
                if "answer" not in str(lost) or monotonic_ns() > until_ns:
                    raise self._fault(lost, _remedy()) from None

    def write(self, name: str, lit: bool) -> None:
        """Switch one light, and wait for the unit's word that it did. Raises PortFault."""
        self._write(name, lit, None)

    def write_for(self, name: str, lit: bool, most_ns: int) -> None:
        """Switch one light; the unit brings it back to its safe state itself when time is over.

        The unit waits a little longer than ``most_ns``, so that the keeper's own edge counts.
        """
        most_us = most_ns // 1000
        self._write(name, lit, most_us + _MARGIN_US + most_us // _MARGIN_PART)

    def alive(self, now_ns: int) -> Sequence[str]:
        """Say that the keeper's loop lives; gives the outputs that are not known any more.

        Never waits while the unit is well: the answer to one heartbeat is taken at the next call.
        """
        try:
            self._tend(now_ns)
        except Lost as lost:
            self._lose(str(lost))
        except Refusal as refusal:
            self._lose(f"it refused a heartbeat ({refusal})")
        doubtful = [name for name in self._lines if name in self._doubtful]
        self._doubtful.clear()
        return doubtful

    def read(self, name: str) -> bool | None:
        """Tell whether a light is lit, as the unit reads its pin back; None: not known."""
        line, number = self._place(name)
        if self._talk is None:
            return None
        try:
            levels = self._talk.ask("state", tries=_SAFE_TRIES).words[1]
        except (Lost, Refusal) as lost:
            self._lose(str(lost))
            return None
        return levels[number] == str(line.level(True))

    def lasted_ns(self, name: str) -> int | None:
        """Give how long an output was last energised, by the unit's own clock; None: not known."""
        _, number = self._place(name)
        if self._talk is None:
            return None
        try:
            _, since, until, _ = self._talk.ask("last", number, tries=_SAFE_TRIES).words
        except (Lost, Refusal) as lost:
            self._lose(str(lost))
            return None
        return None if "-" in (since, until) else (int(until) - int(since)) * 1000

    def close(self) -> None:
        """Let go of the unit as it is; its dead-man timer brings it to its safe state soon."""
        if self._talk is not None:
            self._talk.close()
            self._talk = None
        self._why = "it was closed"
        self._heal_ns = 1 << 62  # never again

    # -- inside ------------------------------------------------------------------------------

    def _place(self, name: str) -> tuple[Line, int]:
        try:
            return self._lines[name]
        except KeyError:
            names = ", ".join(repr(each) for each in self._lines)
            raise PortFault(f"there is no output {name!r} on this board, only {names}") from None

    def _write(self, name: str, lit: bool, most_us: int | None) -> None:
        line, number = self._place(name)
        talk = self._talk or self._healed()
        safe = lit == line.safe_lit
        bound: int | str = "-" if most_us is None or safe else most_us
        limit_s = talk.limits_s[number]
        if bound == "-" and not safe and limit_s is not None:
            bound = limit_s * 1_000_000
        level = line.level(lit)
        try:
            answer = talk.ask(
                "put", number, level, bound, tries=_SAFE_TRIES if safe else _LIT_TRIES
            )
            if answer.words[:2] != (str(number), str(level)):
                raise Lost("it answered something else than it was asked")
        except Refusal as refusal:
            self._lose(f"it refused to switch {name!r} ({refusal})")
            raise PortFault(self._refused(name, refusal)) from None
        except Lost as lost:
            self._lose(str(lost))
            raise self._fault(lost) from None
        self._lit[name] = lit
        self._beat = None  # the answer to a heartbeat on its way tells of the time before

    def _refused(self, name: str, refusal: Refusal) -> str:
        no = refusal.no
        if no.why == "bound" and no.detail.isdigit():
            return (
                f"output {name!r}: the relay unit allows at most {int(no.detail) / 1e6:g} s; make "
                "longest_on_s shorter than that, or raise the limit in the unit's board.py"
            )
        return f"output {name!r}: the relay unit refused ({refusal})"

    def _tend(self, now_ns: int) -> None:
        if self._talk is None:
            if now_ns >= self._heal_ns:
                self._try_to_heal()
            return
        self._talk.listen()
        if self._talk.news:
            news = self._talk.news[0]
            raise Lost(f"it told: {' '.join((news.what, *news.words))}")
        if self._beat is None:
            self._beat = (self._talk.begin("alive"), now_ns)
            return
        seq, sent_ns = self._beat
        answer = self._talk.answer(seq)
        if answer is not None:
            self._compare(answer.words[0], answer.words[1])
            self._beat = (self._talk.begin("alive"), now_ns)
        elif now_ns - sent_ns > self._options.dead_ms * _MS // 2:
            raise Lost("it does not answer heartbeats")

    def _compare(self, mode: str, levels: str) -> None:
        if mode != "armed":
            raise Lost(f"it is {mode}")
        for name, (line, number) in self._lines.items():
            lit = self._lit[name]
            if lit is not None and len(levels) > number and levels[number] != str(line.level(lit)):
                raise Lost(f"output {name!r} is not as it was switched")

    def _lose(self, why: str) -> None:
        if self._talk is not None:
            self._talk.close()
            self._talk = None
        self._why = why
        self._beat = None
        self._lit = dict.fromkeys(self._lines)
        self._doubtful |= set(self._lines)
        self._heal_ns = monotonic_ns() + _SOON_NS

    def _healed(self) -> Talk:
        """Give a fresh introduction. Raises PortFault, at once when a try was made just now."""
        if monotonic_ns() >= self._heal_ns:
            self._try_to_heal()
        if self._talk is None:
            raise self._fault(Lost(self._why))
        return self._talk

    def _try_to_heal(self) -> None:
        try:
            self._introduce()
        except (Lost, PortFault) as lost:
            self._why = str(lost)
            self._heal_ns = monotonic_ns() + _HEAL_NS

    def _introduce(self) -> None:
        """Say hello, which makes every output safe, and set up. Raises Lost, PortFault."""
        options = self._options
        talk = Talk(options.port, answer_ns=options.answer_ms * _MS, tries=_LIT_TRIES)
        try:
            _check(talk, self._lines, options)
            used = ["-"] * len(talk.safe)
            for line, number in self._lines.values():
                used[number] = str(line.level(line.safe_lit))
            talk.ask("setup", "".join(used), options.dead_ms, _LONGEST_MS, tries=_LIT_TRIES)
        except Refusal as refusal:
            talk.close()
            raise PortFault(
                f"the relay unit at {options.port} refused its setup ({refusal})"
            ) from None
        except BaseException:
            talk.close()
            raise
        self._talk = talk
        self._beat = None
        self._lit = {name: line.safe_lit for name, (line, _) in self._lines.items()}

    def _fault(self, lost: Lost, remedy: str = "its outputs are unknown") -> PortFault:
        return PortFault(f"the relay unit at {self._options.port}: {lost}; {remedy}")


class RelayRescuer:
    """Takes the unit from a dead owner: an introduction makes every output safe."""

    def __init__(self, lines: Sequence[Line], options: Options) -> None:
        self._lines = _numbered(lines)
        self._options = options
        self._talk: Talk | None = None

    def make_safe(self, deadline_ns: int) -> bool:
        """Introduce ourselves, trying again until the unit confirms it or time is up.

        False also when the unit may long have done it by itself: what nobody confirmed is not
        known.
        """
        answer_ns = max(self._options.answer_ms, 50) * _MS
        while self._talk is None:
            try:
                talk = Talk(self._options.port, answer_ns=answer_ns, tries=1)
                try:
                    _check(talk, self._lines, self._options)
                except PortFault:
                    talk.close()
                    return False
                self._talk = talk
            except (Lost, Refusal):
                if monotonic_ns() >= deadline_ns:
                    return False
                time.sleep(_RETRY_S)
        return True

    def release(self) -> None:
        """Let go of the port, with everything safe."""
        if self._talk is not None:
            self._talk.close()
            self._talk = None


class _Driver:
    """The output driver that is registered as ``relay-unit``."""

    def open(self, lines: Sequence[Line], options: Mapping[str, object]) -> RelayBoard:
        """Introduce ourselves to the unit and set it up, every output safe. Raises PortFault."""
        return RelayBoard(lines, Options.of(options))

    def rescuer(self, lines: Sequence[Line], options: Mapping[str, object]) -> RelayRescuer:
        """Prepare to take the unit over from its owner. Raises PortFault."""
        return RelayRescuer(lines, Options.of(options))


RelayUnit = _Driver()


def _remedy() -> str:
    here = candidates()
    found = f" (plugged in now: {', '.join(here)})" if here else ""
    return f"see that it is plugged in, runs Dryside's firmware, and is the right port{found}"


def _whole(options: Mapping[str, object], name: str, default: int, within: tuple[int, int]) -> int:
    value = options.get(name, default)
    least, most = within
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        raise PortFault(
            f"[board.relay-unit] {name} = {value!r}: it should be a whole number from {least} to "
            f"{most}"
        )
    return value


def _numbered(lines: Iterable[Line]) -> dict[str, tuple[Line, int]]:
    """Give every line the number of its output, and refuse what is named twice."""
    places: dict[str, tuple[Line, int]] = {}
    names: dict[int, str] = {}
    for line in lines:
        text = str(line.address).strip()
        if not (text.isascii() and text.isdigit()):
            raise PortFault(
                f"output {line.name!r}: {line.address!r} should be the number of an output of the "
                "relay unit, counted from 0"
            )
        number = int(text)
        if line.name in places:
            raise PortFault(f"two outputs are called {line.name!r}; give each its own name")
        if number in names:
            raise PortFault(
                f"output {number} of the relay unit is given to both {names[number]!r} and "
                f"{line.name!r}; give each an output of its own"
            )
        places[line.name] = (line, number)
        names[number] = line.name
    return places


def _check(talk: Talk, places: Mapping[str, tuple[Line, int]], options: Options) -> None:
    """See that this is the unit that the rig file means. Raises PortFault."""
    if options.board_id is not None and talk.board_id != options.board_id:
        raise PortFault(
            f"the relay unit at {options.port} is {talk.board_id!r} and the rig file asks for "
            f"{options.board_id!r}; choose the right port, or change id"
        )
    for name, (line, number) in places.items():
        if number >= len(talk.safe):
            raise PortFault(
                f"output {name!r}: the relay unit at {options.port} has the outputs 0 to "
                f"{len(talk.safe) - 1}, and no {number}"
            )
        if talk.safe[number] != str(line.level(line.safe_lit)):
            active = "low" if talk.safe[number] == "1" else "high"
            raise PortFault(
                f"output {name!r}: the relay unit at {options.port} rests with output {number} "
                f"at level {talk.safe[number]}, and by the rig file that energises a relay; "
                f'either active = "{active}" is right, or the unit\'s board.py must be changed'
            )
