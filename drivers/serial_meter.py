"""A light meter or densitometer that sends lines of text through a serial port.

Options in the rig file: ``pattern``, ``unit``, ``factor``, ``offset`` (see ``meter_lines``),
``baud`` (9600) and ``stale_s`` (2): a reading older than this is none. The address is the port's
path, best the one under /dev/serial/by-id, which stays the same whatever else is plugged in. A
meter that is unplugged is found again when it is back.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Mapping
from pathlib import Path

import serial

from controller.ports import PortFault, Reading, Sensor
from drivers.meter_lines import OPTIONS, Lines, Meaning
from drivers.options import number, whole
from drivers.pins import check_options

BY_ID = Path("/dev/serial/by-id")
_KNOWN = (*OPTIONS, "baud", "stale_s")
_LOOK_S = 0.1  # how long one read waits
_AT_REST = 3  # such reads without a byte are a line at rest, not a slow one (50 baud)
_AGAIN_S = 0.5  # between two attempts to open a port that is not there
FIRST_S = 1.0  # how long a reading is waited for


class SerialMeter:
    """The driver "serial-meter" of the group ``dryside.sensors``; the class is the driver."""

    @staticmethod
    def open(address: int | str, options: Mapping[str, object]) -> Sensor:
        """Listen to the port. Raises PortFault where it is not there, or is somebody else's."""
        check_options(options, _KNOWN, "serial-meter")
        if not isinstance(address, str) or not address.startswith("/"):
            raise PortFault(f"{address!r} is no port; {_ports()}")
        meter = _Meter(
            address,
            Meaning.of(options),
            baud=whole(options, "baud", 9600, 50, 4_000_000),
            stale_ns=round(number(options, "stale_s", 2.0, 0.05, 600) * 1e9),
        )
        meter.start()
        return meter


class _Meter:
    """A thread listens; whoever asks gets the newest reading."""

    def __init__(self, path: str, meaning: Meaning, *, baud: int, stale_ns: int) -> None:
        self._path = path
        self._meaning = meaning
        self._baud = baud
        self._stale_ns = stale_ns
        self._news = threading.Condition()
        self._reading: Reading | None = None
        self._why = ""  # it cannot be listened to
        self._strange = ""  # the last line that told nothing
        self._ends = threading.Event()
        self._port: serial.Serial | None = None
        self._thread = threading.Thread(target=self._run, name="meter", daemon=True)

    def start(self) -> None:
        """Open the port, and begin to listen. Raises PortFault."""
        self._port = self._open()
        self._thread.start()

    def read(self) -> Reading:
        with self._news:
            self._news.wait_for(lambda: self._fresh() is not None or self._why, FIRST_S)
            reading = self._fresh()
            if reading is not None:
                return reading
            if self._why:
                raise PortFault(self._why)
            if self._strange:
                raise PortFault(
                    f"the meter at {self._path} sends {self._strange!r}, in which the pattern "
                    "finds no reading; write a pattern that does, or another baud"
                )
            raise PortFault(
                f"the meter at {self._path} has sent nothing for "
                f"{self._stale_ns / 1e9:g} s; switch it on, and to sending"
            )

    def close(self) -> None:
        self._ends.set()
        self._thread.join(5.0)
        self._shut()

    # -- the thread --------------------------------------------------------------------------

    def _run(self) -> None:
        lines, still = Lines(), 0
        while not self._ends.is_set():
            if self._port is None:
                lines, still = Lines(), 0
                with contextlib.suppress(PortFault):
                    self._port = self._open()
                if self._port is None:
                    self._ends.wait(_AGAIN_S)
                continue
            try:
                data = self._port.read(max(1, self._port.in_waiting))
            except (OSError, TypeError, ValueError):  # an adapter that went away raises any of them
                self._shut()
                self._tell(f"the meter at {self._path} was unplugged; plug it in again")
                continue
            still = 0 if data else still + 1
            if still == _AT_REST:
                lines.silent()
            for line in lines.feed(data):
                self._take(line)

    def _take(self, line: str) -> None:
        value = self._meaning.value_of(line)
        with self._news:
            self._why = ""
            if value is None:
                self._strange = line[:60]
            else:
                self._strange = ""
                self._reading = Reading(self._meaning.quantity, value, time.monotonic_ns())
            self._news.notify_all()

    def _tell(self, why: str) -> None:
        with self._news:
            self._why, self._reading = why, None
            self._news.notify_all()

    def _fresh(self) -> Reading | None:
        reading = self._reading
        if reading is None or time.monotonic_ns() - reading.at_ns > self._stale_ns:
            return None
        return reading

    def _open(self) -> serial.Serial:
        try:
            return serial.Serial(self._path, self._baud, timeout=_LOOK_S, exclusive=True)
        except (OSError, ValueError) as error:
            if not Path(self._path).exists():
                raise PortFault(f"there is no port {self._path}; {_ports()}") from None
            what = getattr(error, "strerror", None) or str(error)
            raise PortFault(
                f"the port {self._path} cannot be opened ({what}); end what else uses it, and let "
                "this user into the group that owns it (usually dialout)"
            ) from None

    def _shut(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            with contextlib.suppress(OSError):
                port.close()


def _ports() -> str:
    found = sorted(str(path) for path in BY_ID.glob("*")) if BY_ID.is_dir() else []
    if found:
        return f"those that are plugged in: {', '.join(found)}"
    return f"write its path, such as {BY_ID}/usb-meter-port0 (none is plugged in now)"
