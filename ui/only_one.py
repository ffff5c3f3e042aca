"""Commands that need the rig to themselves."""

from __future__ import annotations

from contextlib import closing

from controller.errors import Refused
from drivers import pid_files
from drivers.places import run_folder


def refuse_while_running() -> None:
    """Refuse while an engine or a keeper runs, since it holds the outputs. Raises Refused."""
    run = run_folder()
    for what, name in (("engine", pid_files.ENGINE_FILE), ("keeper", pid_files.KEEPER_FILE)):
        process = pid_files.find(run / name)
        if process is not None:
            with closing(process):
                raise Refused(
                    f"the unit runs (its {what} is process {process.pid}) and holds the outputs",
                    ("ending it first", "dryside safe, which ends it"),
                )
