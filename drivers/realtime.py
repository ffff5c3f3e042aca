"""Ask the system for all that punctuality needs: priority, locked memory, no collector.

Each thing that is not granted is told in one sentence, with what would grant it.
"""

from __future__ import annotations

import ctypes
import gc
import os
import resource
from pathlib import Path

PRIORITY = 50  # above every ordinary thread; where interrupts are threads they run at 50 too

# linux/prctl.h and asm-generic/mman.h
_PR_SET_TIMERSLACK = 29
_MCL_CURRENT = 1
_MCL_FUTURE = 2
_CAP_IPC_LOCK = 14  # linux/capability.h
# what a keeper may still come to need: with MCL_FUTURE an allocation beyond the limit fails
_ROOM_BYTES = 64 * 1024 * 1024


def become_realtime(*, priority: int = PRIORITY) -> tuple[str, ...]:
    """Make this process punctual; gives a sentence for each thing that was not granted."""
    notes = [note for note in (_first_in_line(priority), _memory_locked()) if note]
    _no_timer_slack()
    gc.collect()
    gc.freeze()
    gc.disable()
    return tuple(notes)


def _first_in_line(priority: int) -> str | None:
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(priority))
    except (OSError, ValueError):
        soft, _ = resource.getrlimit(resource.RLIMIT_RTPRIO)
        return (
            f"real-time priority {priority} was not granted (the limit is {soft}): timing is good "
            f"to some milliseconds only; LimitRTPRIO={priority} in the service unit, or "
            f"'rtprio {priority}' for this user in /etc/security/limits.conf, would grant it"
        )
    return None


def _memory_locked() -> str | None:
    libc = ctypes.CDLL(None, use_errno=True)
    if _lock_is_safe() and libc.mlockall(_MCL_CURRENT | _MCL_FUTURE) == 0:
        return None
    return (
        "memory was not locked: under memory pressure an edge may come late; "
        "LimitMEMLOCK=infinity in the service unit, or 'memlock unlimited' for this user in "
        "/etc/security/limits.conf, would grant it"
    )


def _lock_is_safe() -> bool:
    """Locked memory that meets its limit later makes allocations fail: then rather not lock."""
    soft, _ = resource.getrlimit(resource.RLIMIT_MEMLOCK)
    if soft == resource.RLIM_INFINITY:
        return True
    status = dict(
        line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines() if line
    )
    if int(status["CapEff"], 16) >> _CAP_IPC_LOCK & 1:
        return True
    return soft >= int(status["VmSize"].split()[0]) * 1024 + _ROOM_BYTES


def _no_timer_slack() -> None:
    # never refused by Linux; without real-time priority it is worth 50 µs
    ctypes.CDLL(None).prctl(_PR_SET_TIMERSLACK, 1, 0, 0, 0)
