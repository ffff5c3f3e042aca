"""The engine's end of the talking book: start its process, tell it what to do, hear when it ends.

Nothing here waits or raises. A player that has died is told of in one sentence and stays dead
until the printer asks for it again.
"""

from __future__ import annotations

import logging
import socket
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from controller.ports import Cue
from drivers.speech import installed
from drivers.talk_core import Prompts
from drivers.talk_words import FromTalk, Halt, Lower, Resume, Skip, ToTalk
from drivers.wire import Wire, pair

if TYPE_CHECKING:
    from controller.rig.model import Rig
    from controller.rig.talk import TalkingFolder

_log = logging.getLogger(__name__)

PLACES_FILE = "talk.json"  # in the data folder
ERRORS_FILE = "talk.err"  # in the run-time folder
END_S = 1.0
NONE = "this rig has no talking book: give its folder in a table [talk] of rig.toml"


class TalkingBook:
    """A process that plays a folder; ``places`` is the file that keeps where it was.

    Without ``settings`` there is none, and nothing to hear. ``options`` are further ones of
    ``drivers.talk_process``.
    """

    def __init__(
        self,
        settings: TalkingFolder | None,
        run: Path,
        *,
        places: Path,
        prompts: Prompts,
        options: Sequence[str] = (),
    ) -> None:
        self._command = _command(settings, places, options) if settings else []
        self._run = run
        self._prompts = prompts
        self._wire: Wire[FromTalk] | None = None
        self._explained = False  # the player has said why it ends
        self._keeping: threading.Thread | None = None
        self._notices: list[str] = []
        if settings is not None and settings.starts == "by-itself":
            self.play()

    @classmethod
    def of(cls, rig: Rig, run: Path, data: Path) -> TalkingBook:
        """Give the rig's talking book; its place is kept in the folder ``data``."""
        sounder = rig.sounder_options()
        rate = sounder.get("words_per_minute")
        prompts = Prompts(
            speaks=rig.sounder.speech and rig.sounder.driver != "silent" and bool(installed()),
            words_per_minute=rate if isinstance(rate, int) else 160,
        )
        return cls(rig.talk, run, places=data / PLACES_FILE, prompts=prompts)

    def play(self) -> None:
        """Go on; a player that has died, or was never started, is started."""
        if not self._command:
            self._notices.append(NONE)
            return
        if self._wire is None:
            self._start()
        self._say(Resume())

    def pause(self) -> None:
        """Be silent."""
        self._say(Halt())

    def turn(self, *, on: bool) -> None:
        """Go on, or be silent."""
        if on:
            self.play()
        else:
            self.pause()

    def next(self) -> None:
        """Go on with the next file."""
        self._say(Skip())

    def duck(self, for_s: float) -> None:
        """Be low at once, for so many seconds from now at least, then come back."""
        self._say(Lower(for_s))

    def under(self, cue: Cue) -> None:
        """Be low for as long as this cue is said and sounded."""
        for_s = self._prompts.heard_s(cue, monotonic())
        if for_s > 0:
            self.duck(for_s)

    def notices(self) -> list[str]:
        """Give what the printer should be told since the last call."""
        told, self._notices = self._notices, []
        if self._wire is None:
            return told
        received = self._wire.receive_all()
        for notice in received.messages:
            self._explained = notice.last
            told.append(notice.sentence)
        if received.closed:
            self._wire.close()
            self._wire = None
            if not self._explained:
                told.append(
                    "the talking book has stopped by itself; it plays again when asked to, and "
                    f"what it said is in {self._run / ERRORS_FILE}"
                )
        return told

    def close(self) -> None:
        """Be silent, with the place kept."""
        if self._wire is not None:
            self._wire.close()
            self._wire = None
        if self._keeping is not None:
            self._keeping.join(END_S)

    # -- the process -------------------------------------------------------------------------

    def _say(self, message: ToTalk) -> None:
        if self._wire is not None:
            self._wire.send(message)  # to one that does not read it is no matter

    def _start(self) -> None:
        near, far = pair()
        self._wire = Wire(near, FromTalk)
        self._explained = False
        # whoever starts a process waits until it has begun, and must wait for its end
        self._keeping = threading.Thread(
            target=self._keep, args=(far, self._keeping), name="talk", daemon=True
        )
        self._keeping.start()

    def _keep(self, far: socket.socket, before: threading.Thread | None) -> None:
        if before is not None:
            before.join()  # two would write one file of places
        errors = self._run / ERRORS_FILE
        try:
            with far, errors.open("wb") as said:
                child = subprocess.Popen(
                    [*self._command, "--fd", str(far.fileno())],
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=said,
                    pass_fds=[far.fileno()],
                    start_new_session=True,
                )
        except OSError as error:
            _log.warning("the talking book was not started: %s", error)
            return
        child.wait()


def _command(settings: TalkingFolder, places: Path, options: Sequence[str]) -> list[str]:
    return [
        *(sys.executable, "-P", "-m", "drivers.talk_process"),
        *("--folder", str(Path(settings.folder).expanduser())),
        *("--volume", str(settings.volume)),
        *("--ducked", str(settings.volume * settings.under_prompts)),
        *("--state", str(places)),
        *options,
    ]
