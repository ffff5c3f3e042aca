"""Is the service manager about to bring this machine's own engine?"""

from __future__ import annotations

import subprocess
from pathlib import Path

from drivers.service.units import ENGINE_UNIT, RUN

# ActiveState of systemctl(1); between a crash and the restart it is "activating" as well
_COMES = ("activating", "active", "reloading", "deactivating")
_ANSWER_S = 5.0


def engine_comes(run: Path) -> bool:
    """Tell whether whoever needs the engine of this run-time folder should rather wait for it.

    One that were started beside it would take its place, with no watchdog and no stop action
    behind the lamp.
    """
    if run != Path(RUN):
        return False
    words = ("systemctl", "show", "--property=ActiveState", "--value", ENGINE_UNIT)
    try:
        told = subprocess.run(
            words, capture_output=True, text=True, timeout=_ANSWER_S, check=False
        ).stdout
    except (OSError, subprocess.TimeoutExpired):
        return False
    return told.strip() in _COMES
