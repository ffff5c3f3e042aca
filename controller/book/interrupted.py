"""What a sheet had when its run was cut off, and how that is told. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

from controller.book.entries import ExposureEntry, PulseEntry, Record, RunEntry, RunKind
from controller.enlarger.lamp import Calibration
from controller.keeper import Cause
from controller.plan import SAME_S


class Part(msgspec.Struct, frozen=True):
    """What one label of a plan has got on a sheet: at least ``low_s``, at most ``high_s``."""

    label: str
    wanted_s: float
    low_s: float
    high_s: float
    full: bool

    @property
    def certain(self) -> bool:
        """Is the dose known, and not only bounded?"""
        return self.high_s - self.low_s <= SAME_S

    def tell(self) -> str:
        """Tell it: "D 2.1 of 3.3 s" or "D between 0 and 3.3 s"."""
        if self.certain:
            low, wanted = _apart(self.low_s, self.wanted_s)
            return f"{self.label} {low} of {wanted} s"
        low, high = _apart(self.low_s, self.high_s)
        return f"{self.label} between {low} and {high} s"


class Interrupted(msgspec.Struct, frozen=True):
    """A run that was begun and never ended, by the sheet that lay under the enlarger.

    ``mark`` is empty where no sheet lies there; ``parts`` are those of this run alone.
    ``last_number`` is that of the last exposure of the whole record, from which a run that
    continues it goes on counting.
    """

    record: Record
    mark: str
    parts: tuple[Part, ...]
    last_number: int
    run: RunEntry

    @property
    def is_extra(self) -> bool:
        """Was it an extra, on a sheet that has had its plan?"""
        return self.run.kind is RunKind.EXTRA

    @property
    def certain(self) -> bool:
        """Is every dose on this sheet known? If not, the sheet is better marked spoiled."""
        return all(part.certain or part.full for part in self.parts)

    @property
    def delivered_s(self) -> dict[str, float]:
        """Give what the paper surely got, by label, in seconds of dose."""
        return {part.label: part.low_s for part in self.parts}

    def tell(self) -> str:
        """Give the sentence: "K7: patches A to C done, D 2.1 of 3.3 s"."""
        if not self.mark and not self.parts:
            return f"{self.record.title}: no sheet was under the enlarger"
        done = [part.label for part in self.parts if part.full]
        said = [f"{named(done)} done"] if done else []
        said += [part.tell() for part in self.parts if not part.full]
        if not said:
            said = ["nothing of the extra yet" if self.is_extra else "nothing exposed yet"]
        return f"{self.mark or self.record.title}: {', '.join(said)}"


def parts_of(exposures: Iterable[ExposureEntry]) -> tuple[Part, ...]:
    """Sum the exposures of one sheet by label, in the order in which they were begun.

    A resumed exposure comes under the label of the first, whose dose was the whole.
    """
    parts: dict[str, Part] = {}
    for exposure in exposures:
        low_s, high_s = exposure.bounds_s
        full = exposure.full is True
        before = parts.get(exposure.label)
        if before is None:
            parts[exposure.label] = Part(exposure.label, exposure.dose_s, low_s, high_s, full)
        else:
            parts[exposure.label] = msgspec.structs.replace(
                before, low_s=before.low_s + low_s, high_s=before.high_s + high_s, full=full
            )
    return tuple(parts.values())


def named(labels: Sequence[str]) -> str:
    """Name exposures, with rows of letters drawn together: "patches A to C and E"."""
    letters = sorted({label for label in labels if _is_letter(label)})
    others = [label for label in dict.fromkeys(labels) if not _is_letter(label)]
    pieces: list[str] = []
    while letters:
        length = 1
        while length < len(letters) and ord(letters[length]) == ord(letters[0]) + length:
            length += 1
        row, letters = letters[:length], letters[length:]
        pieces += [f"{row[0]} to {row[-1]}"] if length > 2 else row
    if pieces:
        only = len(pieces) == 1 and " " not in pieces[0]
        pieces[0] = f"patch{'' if only else 'es'} {pieces[0]}"
    pieces += others
    return " and ".join([", ".join(pieces[:-1]), pieces[-1]] if pieces[1:] else pieces)


class Settled(msgspec.Struct, frozen=True):
    """What an exposure turns out to have been: a dose, or only bounds of one, and its pulses."""

    delivered_dose_s: float | None
    full: bool | None
    low_s: float | None = None
    high_s: float | None = None
    pulses: tuple[PulseEntry, ...] = ()


def settle(
    exposure: ExposureEntry,
    pulses: Sequence[PulseEntry],
    lamp: Calibration,
    *,
    off_before_ns: int | None,
    complete: bool,
) -> Settled:
    """Work out what an open exposure gave, from pulses that were found, in their order.

    A pulse that was put off before its time was the last one, and so was the one with which the
    dose was reached; later ones belong to something else. After a pulse that ran its time another
    may have followed that nobody wrote down, so that only bounds are known, unless what was
    found is ``complete``. ``off_before_ns`` is when the lamp went off before all this.
    """
    low_s, off_ns = 0.0, off_before_ns
    # A remainder that is no pulse of its own joins the last pulse, so that after pulses which
    # all ran their time a small rest is scatter, and not something still to come.
    each_s = exposure.dose_s / max(1, exposure.pulses_wanted)
    for count, pulse in enumerate(pulses, start=1):
        # After a restart of the machine its clock starts anew, and the lamp has gone cold.
        warm = off_ns is not None and off_ns <= pulse.on_ns
        gap_s = (pulse.on_ns - off_ns) / 1e9 if warm and off_ns is not None else None
        low_s += lamp.dose_s(pulse.on_time_s, gap_s)
        off_ns = pulse.off_ns
        ran_out = pulse.cause is Cause.DEADLINE
        missing_s = exposure.dose_s - low_s
        full = missing_s <= SAME_S or (ran_out and missing_s < each_s / 4)
        if full or not ran_out:
            return Settled(low_s, full, pulses=tuple(pulses[:count]))
    if complete:
        return Settled(low_s, False, pulses=tuple(pulses))
    return Settled(None, None, low_s, exposure.dose_s, tuple(pulses))


def _is_letter(label: str) -> bool:
    return len(label) == 1 and "A" <= label <= "Z"


def _apart(less_s: float, more_s: float) -> tuple[str, str]:
    """Write two times with as many figures as show that they differ."""
    for digits in (1, 2, 3):
        less, more = _figures(less_s, digits), _figures(more_s, digits)
        if less != more:
            break
    return less, more


def _figures(seconds: float, digits: int) -> str:
    text = f"{seconds:.{digits}f}"
    return text.rstrip("0").rstrip(".")
