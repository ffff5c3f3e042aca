"""The lamp in the runner's hand: from an exposure's intention to its last measured edge.

Keeps the account of one exposure (or of a light that no paper sees), makes its pulses, and
says what an edge means. It decides nothing about prompts or the foot.
"""

from __future__ import annotations

from collections import deque
from enum import Enum

from controller.enlarger.integration import Integral, SeenLamp
from controller.enlarger.lamp import Calibration, ns
from controller.events import Intended, Made, Remark
from controller.exposing.bench import Bench
from controller.exposing.calls import calls_of
from controller.exposing.dwelling import Dwelling
from controller.exposing.exposure import Exposing
from controller.keeper import Cause, Cut, Edge, Ended, Pulse
from controller.plan import Dwell, Expose, Shine
from controller.ports import NO_FILTER, Cue, Reading, Sound

LATE_S = 0.1  # a pulse that reaches the keeper later than this is a fault


class Outcome(Enum):
    """What the end of a pulse means."""

    FULL = "full"  # the paper has it all
    MORE = "more"  # another pulse of the series follows
    SHORT = "short"  # it was cut, by a foot or by a fault
    NO_PAPER = "no-paper"  # a focus light or a warm-up is over


class InHand:
    """What is being lit, or about to be."""

    def __init__(
        self,
        record_id: str,
        number: int,
        bench: Bench,
        lamp: Calibration,
        seen: SeenLamp | None = None,
    ) -> None:
        self._record_id = record_id
        self._seen = seen  # how a sensor sees the lamp, where one ends exposures
        self._integral: Integral | None = None
        self._expected_ns = 0  # of the pulse in hand: its on-time by calibration
        self._cutting = False  # it was cut since it has all that it was to have
        self._doubt_told = False
        self._number = number  # of the last exposure in the record
        self._bench = bench
        self._lamp = lamp
        self.exposing: Exposing | None = None
        self.dwelling: Dwelling | None = None
        self.pulse: Pulse | None = None
        self.lit_ns: int | None = None
        self.latest_ns: int | None = None  # when the pulse that is really lit ends at the latest
        self.last_filter = ""  # that was asked for, for the exposure that was made last
        self.last_label = ""  # of the exposure that was made last
        self.last_doubtful: tuple[str, ...] = ()  # what of it cannot be trusted if hands were late
        self._open = False  # intended, and not yet made
        self._calls: deque[tuple[int, Cue]] = deque()  # what is told while light falls, and when

    @property
    def number(self) -> int:
        """The number of the exposure that was intended last."""
        return self._number

    @property
    def touched(self) -> bool:
        """Has any light of what is in hand fallen?"""
        return self._account is not None and self._account.touched

    @property
    def left_s(self) -> float:
        """The dose, or the time, that is left of what is in hand, in seconds."""
        return self._account.left_s if self._account else 0.0

    @property
    def asked(self) -> Expose | Dwell | None:
        """What is in hand."""
        return self._account.asked if self._account else None

    @property
    def _account(self) -> Exposing | Dwelling | None:
        return self.exposing or self.dwelling

    @property
    def gap_s(self) -> float:
        """The time off between two pulses of the series in hand, in seconds."""
        return self.exposing.asked.gap_s if self.exposing else 0.0

    def take(self, asked: Expose | Dwell) -> None:
        """Take an exposure in hand, or a time under the lights of the room."""
        if isinstance(asked, Expose):
            self.exposing = Exposing(asked, self._lamp)
        else:
            self.dwelling = Dwelling(asked)

    def put_down(self) -> None:
        """Have nothing in hand any more."""
        self.exposing = self.dwelling = None

    def forget(self) -> None:
        """A fresh sheet lies there: what was made last was on another."""
        self.put_down()
        self.last_label, self.last_filter, self.last_doubtful = "", "", ()

    def intend(self, mark: str, *, resumed: bool) -> Intended:
        """Say what is about to fall: it is written before any light."""
        account = self._account
        assert account is not None
        account.begin_stretch()
        self._number += 1
        self._open = True
        asked = account.asked
        return Intended(
            self._record_id,
            self._number,
            mark,
            asked.label,
            account.left_s,
            asked.pulses if isinstance(asked, Expose) else 0,
            self._bench.pulses + 1,
            resumed,
            asked.filter if isinstance(asked, Expose) else "",
        )

    def made(self) -> list[Made]:
        """Say what has fallen since the intention; nothing where none is open."""
        account = self._account
        if not self._open or account is None:
            return []
        self._open = False
        asked = account.asked
        self.last_label = asked.label
        self.last_filter = ""
        if isinstance(asked, Expose) and asked.filter != NO_FILTER:
            self.last_filter = asked.filter  # in bare light none can be wrong
        self.last_doubtful = asked.doubtful or (self.last_label,)
        pulses = tuple(account.pulses)
        return [Made(self._record_id, self._number, pulses, account.stretch_s, account.full)]

    def light_up(self, now_ns: int, shine: Shine | None) -> Pulse:
        """Make the next pulse, as long as the gap that really was makes it."""
        if self.exposing:
            off_ns = self._bench.lamp_off_ns
            gap_s = None if off_ns is None else (now_ns - off_ns) / 1e9
            output = self.exposing.asked.output
            self._expected_ns = duration_ns = self.exposing.next_pulse(gap_s)
            if self._by_sensor and self._seen:
                duration_ns = self._seen.bound_ns(self._expected_ns)
        else:
            assert shine is not None
            output = shine.output
            self._expected_ns = duration_ns = ns(shine.limit_s)
        self._bench.pulses += 1
        self.pulse = Pulse(self._bench.pulses, output, duration_ns, now_ns + ns(LATE_S))
        return self.pulse

    def edge(self, edge: Edge) -> bool:
        """Take an edge; is it the one that begins the pulse in hand?"""
        if not self.pulse or edge.output != self.pulse.output or not edge.lit:
            return False
        self.lit_ns = edge.at_ns
        self.latest_ns = edge.at_ns + self.pulse.duration_ns
        if self.exposing:
            if self._by_sensor and self._seen:
                wanted_s = self.exposing.pulse_dose_s
                self._integral = Integral(self._seen, edge.at_ns, wanted_s, self._expected_ns)
            ends_ns = edge.at_ns + self._expected_ns
            self._calls = deque(calls_of(self.exposing, edge.at_ns, ends_ns))
        return True

    def saw(self, reading: Reading) -> None:
        """Take what the sensor that sees the lamp has read."""
        if self._integral:
            self._integral.take(reading)

    @property
    def ends_ns(self) -> int | None:
        """When the pulse that is really lit will end, as far as is known now."""
        if self._integral and self.latest_ns is not None:
            cut_ns = self._integral.cut_ns
            if cut_ns is not None:
                return min(cut_ns, self.latest_ns)
        return None if self.lit_ns is None else self.lit_ns + self._expected_ns

    @property
    def _by_sensor(self) -> bool:
        """Is the pulse in hand one that a sensor ends?"""
        if self._seen is None or self.exposing is None:
            return False
        asked = self.exposing.asked
        long_enough = self.exposing.pulse_dose_s >= self._seen.least_s
        return long_enough and asked.output == self._seen.output and asked.assumed_lag_s is None

    def refused(self, pulse_id: int) -> bool:
        """Take a refusal; is it that of the pulse in hand?"""
        return self._over(pulse_id)

    def ended(self, ended: Ended) -> Outcome | None:
        """Take the end of a pulse; None where it is not the one in hand."""
        meant = self._cutting
        seen_s = self._integral.dose_s(ended.off_ns) if self._integral else None
        if not self._over(ended.id):
            return None
        self._bench.lamp_off_ns = ended.off_ns
        if self.exposing is None:
            return Outcome.NO_PAPER
        self.exposing.ended(ended, seen_s, meant=meant)
        if self.exposing.full:
            return Outcome.FULL
        if self.exposing.last:
            return Outcome.SHORT
        return Outcome.MORE if meant or ended.cause is Cause.DEADLINE else Outcome.SHORT

    @property
    def next_ns(self) -> int | None:
        """When something is next to be told, or done."""
        times = [self._calls[0][0]] if self._calls else []
        if self._integral and not self._cutting:
            times.append(self._integral.next_ns)
        return min(times, default=None)

    def due(self, now_ns: int) -> list[Cue | Cut | Remark]:
        """Give what is due: ticks, tools into the beam or out of it, and the end of the light."""
        due: list[Cue | Cut | Remark] = []
        while self._calls and now_ns >= self._calls[0][0]:
            due.append(self._calls.popleft()[1])
        if self._integral and self.pulse and not self._cutting:
            if self._integral.check(now_ns):
                self._cutting = True
                due.append(Cut(self.pulse.id))
            if self._integral.doubt and not self._doubt_told:
                self._doubt_told = True
                why = self._integral.doubt.value
                due.append(Cue(f"{why}; by time", Sound.ATTENTION))
                label = self.asked.label if self.asked else ""
                due.append(Remark(self._record_id, f"{label} ended by time: {why}"))
        return due

    def _over(self, pulse_id: int) -> bool:
        if not self.pulse or self.pulse.id != pulse_id:
            return False
        self.pulse = None
        self.lit_ns = self.latest_ns = self._integral = None
        self._cutting = self._doubt_told = False
        self._calls.clear()
        return True
