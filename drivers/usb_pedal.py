"""Pedals that are USB keyboards: a key that is down is a pedal that is down.

The address is the pedal's path in /dev/input/by-id, which stays the same wherever it is plugged
in; "#b" behind it names the one key that counts (any key, if not given). Every event node of the
device is listened to and taken for this program alone, as soon as all its keys are up, so that
nothing of it reaches a shell. Whoever runs this must be in the group "input".
"""

from __future__ import annotations

import errno
import logging
import os
import select
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from time import monotonic_ns

from controller.ports import OnPedal, OnPresence, Pedal, PortFault
from drivers.input_keys import code_of
from drivers.input_node import SYS, EventNode, Identity, Node, Unplugged, identity, nodes_of
from drivers.pins import check_options

_log = logging.getLogger(__name__)

AGAIN_S = 0.25  # between two looks for a pedal that is away
LATE_S = 3.0  # a device's further nodes may come so long after its first
CLOSE_S = 2.0
_NONE: Mapping[str, object] = {}


class UsbPedal:
    """The driver "usb-pedal" of the group ``dryside.pedals``; the class itself is the driver."""

    @staticmethod
    def open(
        address: int | str,
        *,
        normally_closed: bool,
        on_edge: OnPedal,
        options: Mapping[str, object] = _NONE,
    ) -> Pedal:
        """Listen to a device; a key that is already down is told at once, as an edge.

        Raises PortFault.
        """
        check_options(options, (), "usb-pedal")
        if normally_closed:
            raise PortFault(
                "a USB pedal tells presses, not contacts; right would be contact = 'normally-open'"
            )
        path, key = _parts(address)
        return Listening(path, key, on_edge)


class Listening:
    """A USB pedal that is listened to, in a thread of its own (``controller.ports`` Pluggable)."""

    def __init__(
        self,
        path: str,
        key: int | None,
        on_edge: OnPedal,
        *,
        sys: Path = SYS,
        opener: Callable[[Path], Node] = EventNode,
    ) -> None:
        self._path = path
        self._key = key
        self._on_edge = on_edge
        self._sys = sys
        self._opener = opener
        self._nodes: dict[Path, Node] = {}
        self._down: set[tuple[Path, int]] = set()
        self._grabbed: set[Path] = set()
        self._identity: Identity | None = None
        self._late_ns = 0  # until then, look for further nodes
        self._lock = threading.Lock()  # between watch() and the thread
        self._on_presence: OnPresence | None = None
        self._is_there = True
        self._ends = False
        try:
            self._plug_in()
        except Unplugged as gone:
            raise PortFault(f"the pedal at {path} went while it was opened: {gone}") from gone
        self._wake_r, self._wake_w = os.pipe()
        self._thread = threading.Thread(target=self._run, name="usb-pedal", daemon=True)
        self._thread.start()

    def watch(self, on_presence: OnPresence) -> None:
        """Tell from now on when it is unplugged, and when it is back."""
        with self._lock:
            self._on_presence = on_presence
            if not self._is_there:
                on_presence(monotonic_ns(), False)

    def close(self) -> None:
        """Stop listening."""
        if self._ends:
            return
        self._ends = True
        os.write(self._wake_w, b"\0")
        self._thread.join(CLOSE_S)
        if not self._thread.is_alive():
            self._unplug()
            os.close(self._wake_r)
            os.close(self._wake_w)

    # -- plugging ----------------------------------------------------------------------------

    def _plug_in(self) -> None:
        """Open every node of the device. Raises Unplugged, PortFault."""
        paths = nodes_of(self._path, self._sys)
        own = identity(paths[0].name, self._sys)
        if self._identity is not None and own.name != self._identity.name:
            raise PortFault(f"at {self._path} is another device now ({own.name})")
        try:
            self._add(paths)
        except (Unplugged, PortFault):
            self._unplug()
            raise
        self._identity = own
        self._late_ns = monotonic_ns() + int(LATE_S * 1e9)

    def _add(self, paths: list[Path]) -> None:
        for path in paths:
            if path in self._nodes:
                continue
            try:
                node = self._opener(path)
            except OSError as error:
                raise _not_opened(self._path, path, error) from error
            self._nodes[path] = node
            for code in node.down():
                self._take(path, code, monotonic_ns(), down=True)
        self._grab()

    def _grab(self) -> None:
        """Have the device alone, once no key is down: one that came up unseen would stay down."""
        for path, node in self._nodes.items():
            if path not in self._grabbed and not node.down():
                try:
                    node.grab()
                except PortFault as fault:
                    raise PortFault(f"the pedal at {self._path}: {fault}") from fault
                self._grabbed.add(path)

    def _unplug(self) -> None:
        for node in self._nodes.values():
            with suppress(OSError):
                node.close()
        self._nodes.clear()
        self._grabbed.clear()
        self._down.clear()  # told by nobody: whoever listens knows that it went

    def _tell(self, *, there: bool) -> None:
        with self._lock:
            self._is_there = there
            if self._on_presence is not None:
                self._on_presence(monotonic_ns(), there)

    # -- listening ---------------------------------------------------------------------------

    def _run(self) -> None:
        while not self._ends:
            try:
                if not self._is_there:
                    self._plug_in_again()
                self._listen()
            except (Unplugged, PortFault):
                self._unplug()
                if self._is_there:
                    self._tell(there=False)
                select.select([self._wake_r], (), (), AGAIN_S)
            except Exception:  # a thread that ends would leave a pedal that nobody hears
                _log.exception("a USB pedal was lost for a moment")
                select.select([self._wake_r], (), (), AGAIN_S)

    def _plug_in_again(self) -> None:
        # told first, so that a key that is down already comes after it
        edge, held = self._on_edge, list[tuple[int, bool]]()
        self._on_edge = lambda at_ns, down: held.append((at_ns, down))
        try:
            self._plug_in()
        finally:
            self._on_edge = edge
        self._tell(there=True)
        for at_ns, down in held:
            edge(at_ns, down)

    def _listen(self) -> None:
        poll = select.poll()
        poll.register(self._wake_r, select.POLLIN)
        by_fd = {node.fileno(): path for path, node in self._nodes.items()}
        for fd in by_fd:
            poll.register(fd, select.POLLIN)
        looks = monotonic_ns() < self._late_ns or len(self._grabbed) < len(self._nodes)
        for fd, _ in poll.poll(AGAIN_S * 1000 if looks else None):
            if fd in by_fd:  # a device that has gone is readable, and the read says so
                self._hear(by_fd[fd])
        if monotonic_ns() < self._late_ns:
            with suppress(PortFault):  # a node may be there before it may be opened
                self._add(nodes_of(self._path, self._sys))
        elif len(self._grabbed) < len(self._nodes):
            self._grab()

    def _hear(self, path: Path) -> None:
        node = self._nodes[path]
        read = node.read()
        for key in read.keys:
            self._take(path, key.code, key.at_ns, down=key.down)
        if read.lost:
            down = node.down()
            for code in {code for at, code in self._down if at == path} - down:
                self._take(path, code, monotonic_ns(), down=False)
            for code in down:
                self._take(path, code, monotonic_ns(), down=True)

    def _take(self, path: Path, code: int, at_ns: int, *, down: bool) -> None:
        if self._key is not None and code != self._key:
            return
        was_down = bool(self._down)
        if down:
            self._down.add((path, code))
        else:
            self._down.discard((path, code))
        if bool(self._down) != was_down:
            self._on_edge(at_ns, not was_down)


def _parts(address: int | str) -> tuple[str, int | None]:
    text = str(address).strip()
    path, _, key = text.partition("#")
    if not path.startswith("/"):
        raise PortFault(
            f"{address!r} is no USB pedal; write its path from /dev/input/by-id, and '#b' behind "
            "it where only the key b is to count"
        )
    if "#" in text and not key:
        raise PortFault(f"{address!r}: after '#' a key is missing, such as 'b'")
    return path, code_of(key) if key else None


def _not_opened(asked: str, path: Path, error: OSError) -> PortFault | Unplugged:
    match error.errno:
        case errno.EACCES | errno.EPERM:
            return PortFault(
                f"the pedal at {asked} may not be read by this user; add the user to the group "
                "'input' (sudo usermod -aG input NAME), and log in anew"
            )
        case errno.ENODEV | errno.ENOENT | errno.ENXIO:
            return Unplugged(f"{path} is gone")
        case _:
            return PortFault(f"the pedal at {asked} cannot be opened: {error.strerror}")
