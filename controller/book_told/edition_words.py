"""What is told of an edition: its numbers, what each print got, and the spread among them. Pure."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from controller.book.print_entries import Edition, Signed, of_how_many
from controller.book_told.edition_run import EditionGot


def edition_head(edition: Edition) -> list[str]:
    """Tell of an edition: how many there are, are signed and are left."""
    count = sum(1 for one in edition.signed if one.kind is Signed.COPY)
    size = of_how_many(edition.copies, edition.artist_proofs)
    of = f", negative {edition.negative}" if edition.negative else ""
    lines = [f"{edition.name}: {size}{of}; {count} signed"]
    return [*lines, *([f"  {edition.remark}"] if edition.remark else [])]


def got_lines(got: EditionGot) -> list[str]:
    """Tell what each print of an edition got, and the spread."""
    lines = []
    for copy in got.copies:
        doses = ", ".join(
            f"{light or 'no filter'} {s:.2f} s" for light, s in copy.by_filter_s.items()
        )
        lines.append(f"  {copy.written or 'unsigned':8} {copy.mark} got {doses}")
    for group in got.alike:
        if group.spread_stops is not None:
            of = f" of {len(group.marks)} on {group.name}" if len(got.alike) > 1 else ""
            lines.append(f"spread within the edition{of}: {group.spread_stops:.3f} stop")
    if len(got.alike) > 1:
        lines.append("prints on other paper or at another size are not compared by light")
    return lines


def signed_lines(edition: Edition, when: Callable[[datetime], str]) -> list[str]:
    """Tell of each signed print its number, its mark, when it was signed and where it went."""
    lines = []
    for one in edition.signed:
        gone = f", {one.went}" if one.went else ""
        lines.append(f"  {one.written:8} {one.mark}, signed {when(one.signed_at)}{gone}")
    return lines
