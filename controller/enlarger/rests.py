"""Lights that must rest before they may burn again: discharge lamps do not restart while hot."""

from __future__ import annotations

from collections.abc import Mapping

from controller.keeper import Edge, Put


class Rests:
    """Holds back what would light a resting lamp, and gives it when it has rested. Sans-I/O."""

    def __init__(self, least_off_ns: Mapping[str, int]) -> None:
        self._least_off_ns = least_off_ns
        self._off_ns: dict[str, int] = {}
        self._held: dict[str, int] = {}  # lights that are wanted, and when they may burn

    @property
    def next_ns(self) -> int | None:
        """When ``due`` must be asked."""
        return min(self._held.values(), default=None)

    def edge(self, edge: Edge) -> None:
        """Take note of a light that went off."""
        if edge.lit is False and edge.output in self._least_off_ns:
            self._off_ns[edge.output] = edge.at_ns

    def ask(self, now_ns: int, put: Put) -> Put | None:
        """Give what may be done now; None where the light must rest first."""
        self._held.pop(put.output, None)
        rested_ns = self._off_ns.get(put.output, 0) + self._least_off_ns.get(put.output, 0)
        if put.lit and put.output in self._off_ns and now_ns < rested_ns:
            self._held[put.output] = rested_ns
            return None
        return put

    def due(self, now_ns: int) -> list[Put]:
        """Give the lights that have rested and are still wanted."""
        rested = [name for name, at_ns in self._held.items() if now_ns >= at_ns]
        for name in rested:
            del self._held[name]
        return [Put(name, True) for name in rested]
