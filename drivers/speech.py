"""Spoken prompts through espeak-ng, where it is installed."""

from __future__ import annotations

import logging
import shutil
import subprocess
import threading

_log = logging.getLogger(__name__)
_LONGEST_S = 30.0  # no prompt is so long; a sound card may hang


class Speech:
    """Speaks one text at a time, in a thread of its own; never waits, never raises.

    A text that has not begun is replaced by a newer one. ``program`` None: silent.
    """

    def __init__(
        self, program: str | None, *, voice: str = "en", words_per_minute: int = 160
    ) -> None:
        self._command = (
            [program, "-v", voice, "-s", str(words_per_minute), "--stdin"] if program else None
        )
        self._news = threading.Condition()
        self._text: str | None = None
        self._closed = False
        self._speaker: subprocess.Popen[bytes] | None = None
        self._thread: threading.Thread | None = None

    def say(self, text: str) -> None:
        """Begin to speak and return at once."""
        text = text.strip()
        if not text or self._command is None:
            return
        with self._news:
            if self._closed:
                return
            self._text = text
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="speech", daemon=True)
                self._thread.start()
            self._news.notify()

    def close(self) -> None:
        """Stop speaking in the middle of a word."""
        with self._news:
            self._closed = True
            self._news.notify()
            if self._speaker is not None:
                self._speaker.kill()
        if self._thread is not None:
            self._thread.join(1.0)

    # -- in the thread -----------------------------------------------------------------------

    def _run(self) -> None:
        while (speaker := self._begin()) is not None:
            process, text = speaker
            try:
                process.communicate(text.encode(), timeout=_LONGEST_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.communicate()
            except OSError as error:
                process.kill()
                process.wait()
                _log.warning("a prompt was not spoken: %s", error)

    def _begin(self) -> tuple[subprocess.Popen[bytes], str] | None:
        """Wait for a text and start its speaker; None when there is nothing more to say."""
        assert self._command is not None
        with self._news:
            self._speaker = None
            self._news.wait_for(lambda: self._closed or self._text is not None)
            if self._closed or self._text is None:
                return None
            text, self._text = self._text, None
            try:
                # started under the lock, so that close() knows it
                self._speaker = subprocess.Popen(
                    self._command,
                    stdin=subprocess.PIPE,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                )
            except OSError as error:
                _log.warning("nothing will be spoken: %s", error)
                self._command = None
                return None
            return self._speaker, text


def installed() -> str | None:
    """Give espeak-ng's path, or None where it is not installed."""
    return shutil.which("espeak-ng")
