"""The same room, fed with what was recorded: used when a run went through the real keeper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import msgspec

from controller.ports import PortFault
from sim.hands import Done
from sim.settings import SimulatorSettings
from sim.sheet import DevelopedSheet
from sim.world import ImaginedWorld, Switched


def replay(
    settings: SimulatorSettings,
    switched: Iterable[Switched],
    done: Iterable[Done],
    *,
    lamp: str = "lamp",
    lit: Mapping[str, bool] | None = None,
) -> list[DevelopedSheet]:
    """Give the sheets that follow from a history of edges and of what hands did.

    At the same nanosecond hands come first, as a printer who waits for the light does.
    """
    world = ImaginedWorld(settings, lamp=lamp, lit=lit)
    history: list[tuple[int, int, Switched | Done]] = [
        *((edge.at_ns, 1, edge) for edge in switched),
        *((job.at_ns, 0, job) for job in done),
    ]
    history.sort(key=lambda entry: entry[:2])  # stable: the order of each list is kept
    for at_ns, _, entry in history:
        if isinstance(entry, Done):
            world.do(at_ns, entry.hands)
        else:
            world.switch(at_ns, entry.output, entry.lit)
    return world.develop(history[-1][0]) if history else []


def read_wire(path: Path) -> list[Switched]:
    """Read the edges that ``sim.board`` wrote. Raises PortFault naming the line that is wrong."""
    edges = []
    for number, line in enumerate(path.read_text().splitlines(), start=1):
        try:
            at_ns, name, _level, lit = line.split()
            edges.append(Switched(int(at_ns), name, {"0": False, "1": True}[lit]))
        except (ValueError, KeyError):
            raise PortFault(
                f"{path}, line {number}: {line!r} is no edge; right would be "
                "'TIME_NS NAME LEVEL LIT', LIT being 0 or 1"
            ) from None
    return edges


def write_done(path: Path, done: Iterable[Done]) -> None:
    """Write what hands did, a JSON object to a line."""
    path.write_bytes(msgspec.json.Encoder().encode_lines(done))


def read_done(path: Path) -> list[Done]:
    """Read what ``write_done`` wrote. Raises PortFault naming the file and the fault."""
    try:
        return msgspec.json.Decoder(Done).decode_lines(path.read_bytes())
    except msgspec.DecodeError as fault:
        raise PortFault(f"{path}: {fault}; it should hold what hands did, one to a line") from None
