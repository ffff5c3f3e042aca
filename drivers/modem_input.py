"""A contact on an input line of a serial port, listened to by a thread.

Where the port can wait for a change (TIOCMIWAIT), a second thread does, and the lines are looked
at besides every 20 ms, since a change between two waits is not told. Elsewhere they are looked at
every 5 ms.

A thread that waits there cannot be called back: it keeps the port open until its process ends.
"""

from __future__ import annotations

import logging
import threading
from time import monotonic_ns

from controller.ports import OnPedal, OnPresence, PortFault
from drivers.modem_port import RI, Lost, Modem, OpenPort, open_port

_log = logging.getLogger(__name__)

LOOK_S = 0.005
WAITED_LOOK_S = 0.02
AGAIN_S = 0.25  # between two looks for a port that is away
CLOSE_S = 2.0


class LineContact:
    """A contact that is listened to (``controller.ports`` Pluggable)."""

    def __init__(
        self,
        path: str,
        line: int,
        supply: int,
        *,
        normally_closed: bool,
        on_edge: OnPedal,
        opener: OpenPort = open_port,
    ) -> None:
        self._path = path
        self._line = line
        self._supply = supply
        self._pressed = 0 if normally_closed else line
        self._on_edge = on_edge
        self._opener = opener
        self._down = False
        self._lock = threading.Lock()  # between watch() and the thread
        self._on_presence: OnPresence | None = None
        self._changed = threading.Event()
        self._ends = False
        self._modem: Modem | None = None
        try:
            self._plug_in()
        except Lost as lost:
            raise PortFault(f"serial port {path}, for a pedal: {lost}") from lost
        self._thread = threading.Thread(target=self._run, name="modem-lines", daemon=True)
        self._thread.start()

    def watch(self, on_presence: OnPresence) -> None:
        """Tell from now on when the port is unplugged, and when it is back."""
        with self._lock:
            self._on_presence = on_presence
            if self._modem is None:
                on_presence(monotonic_ns(), False)

    def close(self) -> None:
        """Stop listening."""
        self._ends = True
        self._changed.set()
        self._thread.join(CLOSE_S)

    def _plug_in(self) -> None:
        """Open the port, and take the contact as it is. Raises Lost."""
        modem = self._opener(self._path)
        try:
            if self._supply:
                modem.put(lift=self._supply)
            lines = modem.get()
        except Lost:
            modem.close()
            raise
        with self._lock:
            was_away, self._modem = self._modem is None and self._on_presence, modem
            if was_away:
                was_away(monotonic_ns(), True)
        self._look_s = LOOK_S
        if self._line != RI:  # of a bell most ports tell the end only
            threading.Thread(
                target=self._wait, args=(modem,), name="modem-lines-wait", daemon=True
            ).start()
        self._is(lines)

    def _unplug(self) -> None:
        with self._lock:
            modem, self._modem = self._modem, None
            self._down = False  # told by nobody: whoever listens knows that it went
            if self._on_presence is not None:
                self._on_presence(monotonic_ns(), False)
        if modem is not None:
            modem.close()

    def _run(self) -> None:
        while not self._ends:
            try:
                if self._modem is None:
                    self._plug_in()
                else:
                    self._changed.wait(self._look_s)
                    self._changed.clear()
                    if not self._ends:
                        self._is(self._modem.get())
            except Lost:
                if self._modem is not None:
                    self._unplug()
                self._changed.wait(AGAIN_S)
            except Exception:  # a thread that ends would leave a pedal that nobody hears
                _log.exception("a change of a pedal was lost")
                self._changed.wait(AGAIN_S)
        if self._modem is not None:
            self._modem.close()

    def _wait(self, modem: Modem) -> None:
        """Wake the other thread at every change, as long as this port can tell."""
        try:
            while not self._ends and modem is self._modem and modem.await_change(self._line):
                self._look_s = WAITED_LOOK_S
                self._changed.set()
        except Lost:
            self._changed.set()
            return
        if modem is self._modem:
            self._look_s = LOOK_S

    def _is(self, lines: int) -> None:
        down = lines & self._line == self._pressed
        if down != self._down:
            self._down = down
            self._on_edge(monotonic_ns(), down)
