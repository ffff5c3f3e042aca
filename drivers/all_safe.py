"""Bring every output to its safe state, whoever held it: what ``dryside safe`` does.

The service manager runs it whenever the unit stops for any reason, so it trusts nothing: an
engine or a keeper may be alive, frozen, or dead.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from time import monotonic_ns

from controller.keeper import MS
from controller.ports import Line
from drivers import pid_files
from drivers.found import find_outputs

ENGINE_PATIENCE_S = 1.0  # it ends its keeper first
KEEPER_PATIENCE_S = 0.5
CLAIM_NS = 2_000 * MS


@dataclass(frozen=True, slots=True)
class MadeSafe:
    """What was done, in sentences; ``safe``: every output is now known to be in its safe state."""

    safe: bool
    did: tuple[str, ...]


def safe_now(
    lines: Sequence[Line],
    driver: str,
    options: Mapping[str, object],
    *,
    run: Path,
    called: Mapping[str, str] | None = None,
) -> MadeSafe:
    """Stop an engine and a keeper that run, then claim every line at its safe level and let go.

    ``run`` is the run-time folder, where they noted themselves; ``called`` says what a line is
    to a person, where its name does not. Raises PortFault when there is
    no such driver.
    """
    rescuer = find_outputs(driver).rescuer(lines, options)
    # the engine first: it would replace a keeper that is taken from it
    did = [
        *_stopped("engine", run / pid_files.ENGINE_FILE, ENGINE_PATIENCE_S),
        *_stopped("keeper", run / pid_files.KEEPER_FILE, KEEPER_PATIENCE_S),
    ]
    safe = rescuer.make_safe(monotonic_ns() + CLAIM_NS)
    rescuer.release()
    if safe:
        names = called or {}
        lit = [names.get(line.name, line.name) for line in lines if line.safe_lit]
        now_lit = f"lit: {', '.join(lit)}" if lit else "no light is lit"
        did.append(f"every output is in its safe state ({now_lit})")
    else:
        did.append(
            f"the outputs could not be claimed within {CLAIM_NS // (1000 * MS)} s, so their state "
            "is unknown: switch the lamp off at its lead, and see that the board is "
            "there and which program holds it"
        )
    return MadeSafe(safe, tuple(did))


def _stopped(what: str, path: Path, patience_s: float) -> list[str]:
    process = pid_files.find(path)
    if process is None:
        return []
    with closing(process):
        frozen = process.is_stopped()
        ended = process.stop(patience_s)
        if not ended:
            return [f"the {what} (process {process.pid}) could not be stopped"]
        pid_files.forget(path)
        how = ", which was frozen," if frozen else ""
        return [f"the {what} (process {process.pid}){how} was stopped"]
