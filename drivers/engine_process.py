"""The engine as a process: ``python -P -m drivers.engine_process``."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from types import FrameType

from controller.errors import DrysideError
from controller.ports import PortFault
from drivers import pid_files
from drivers.engine import Engine
from drivers.journal import only_one
from drivers.places import book_path, room_path, run_folder
from drivers.service.notify import ServiceManager


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the engine; exit code 2 where it could not begin."""
    from controller.rig.file import load_rig

    parser = argparse.ArgumentParser(prog="engine", description="The unit without a screen.")
    parser.add_argument("--rig", required=True, help="rig file, or the name of an imagined rig")
    parser.add_argument("--set", action="append", default=[], help="override one setting")
    parser.add_argument("--linger", type=float, help="end when left alone for so many seconds")
    given = parser.parse_args(arguments)
    engine: Engine | None = None
    try:
        run = run_folder()
        _lock = _alone(run)
        rig = load_rig(given.rig, given.set)
        pid_files.note(run / pid_files.ENGINE_FILE, os.getpid())
        engine = Engine(rig, run=run, book=book_path(), room=room_path(), linger_s=given.linger)
    except (DrysideError, PortFault) as fault:
        print(fault, file=sys.stderr)
        return 2

    def ended(_number: int, _frame: FrameType | None) -> None:
        engine.end()

    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, ended)
    try:
        engine.run()
    finally:
        # whatever happened, the lamp goes off before anything is told
        engine.close()
        pid_files.forget(run / pid_files.ENGINE_FILE)
    return 0


def _alone(run: Path) -> int:
    """Take the lock. A service waits for it, since a service that fails has the outputs made safe.

    That would end the engine that somebody works with. Raises PortFault.
    """
    manager = ServiceManager.of(os.environ, os.getpid())
    try:
        return only_one(run)
    except PortFault:
        if not manager.listens:
            raise
        manager.waiting()
        return only_one(run, waits=True)
    finally:
        manager.close()


if __name__ == "__main__":
    sys.exit(main())
