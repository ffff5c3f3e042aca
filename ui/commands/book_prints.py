"""``dryside book find``, ``negative`` and ``print``: prints looked for, and told of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from controller.book.finding import Looked
from controller.book.finding import find as find_prints
from controller.book.print_entries import Negative, PrintEntry
from controller.book.prints import (
    add_picture,
    keep_negative,
    lay_beside,
    negative,
    negatives,
    print_called,
    tell_of,
    untag,
)
from controller.book.whole import WholePrint, whole_print
from controller.book_told.print_words import negative_lines, print_line, whole_lines
from controller.errors import BadInput, quoted
from controller.fields import tones_asked
from controller.record_sheet.kept import own_stem
from controller.stops import parse_stops
from ui import show
from ui.kept_pictures import keep_copy
from ui.show import when
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.book.book import Book


def add_negative(
    name: str,
    told: Mapping[str, str],
    tags: Sequence[str],
    off: Sequence[str],
    *,
    json_: bool,
) -> None:
    """Put a negative down, or what is new of it."""
    with open_book() as book:
        keep_negative(book, Negative(name, tags=tuple(tags), **told))
        for tag in off:
            untag(book, name, tag)
        kept = negative(book, name)
    assert kept is not None
    if json_:
        show.as_json(kept)
    else:
        show.lines(negative_lines(kept))


def list_negatives(tag: str, limit: int, *, json_: bool) -> None:
    """List negatives."""
    with open_book() as book:
        found = negatives(book, tag=tag, limit=limit)
    if json_:
        show.as_json(found)
        return
    if not found:
        print("no negative has that tag" if tag else "the book has no negative yet")
    for one in found:
        about = ", ".join(filter(None, [one.film, one.format, one.exposed_on, *one.tags]))
        show.cut(f"{one.name:12}  {about}")


def show_negative(name: str, *, json_: bool) -> None:
    """Show a negative, and its prints; prints alone are enough to know of one."""
    with open_book() as book:
        found = negative(book, name)
        prints = find_prints(book, Looked(negative=name))
    if found is None and not prints:
        right = "one that `dryside book negative list` shows"
        raise BadInput(f"there is no negative {quoted(name)}", "book negative show", right)
    found = found or Negative(name)
    if json_:
        show.as_json({"negative": found, "prints": prints})
        return
    show.lines(negative_lines(found))
    for one in prints:
        show.cut(f"  {print_line(one, when)}")


def find(
    words: Sequence[str],
    told: Mapping[str, str],
    *,
    days: tuple[str, str],
    rated: int | None,
    stops: tuple[str, str],
    limit: int,
    json_: bool,
) -> None:
    """Find prints."""
    over, under = (
        float(parse_stops(text, option)) if text else None
        for text, option in zip(stops, ("--over", "--under"), strict=True)
    )
    if (over is not None or under is not None) and not (told["burn"] or told["dodge"]):
        raise BadInput("it is not said of what", "--over", "a region with it: --burn sky --over 1")
    looked = Looked(
        words=" ".join(words),
        since=_day(days[0], "--since"),
        until=_day(days[1], "--until"),
        at_least=rated,
        over_stops=over,
        under_stops=under,
        **told,
    )
    with open_book() as book:
        found = find_prints(book, looked, limit)
    if json_:
        show.as_json(found)
        return
    if not found:
        print("no print fits all of this")
    for one in found:
        show.cut(print_line(one, when))


def show_print(key: str, *, json_: bool) -> None:
    """Show all of one print."""
    with open_book() as book:
        whole = whole_print(book, key)
    if json_:
        show.as_json(whole_json(whole))
        return
    show.lines(whole_lines(whole, when))


def whole_json(whole: WholePrint) -> dict[str, Any]:
    """Give a whole print for a program; the score as it is written."""
    import msgspec

    from controller.score.file import tables_of

    told: dict[str, Any] = {
        name: msgspec.to_builtins(getattr(whole, name))
        for name in whole.__struct_fields__
        if name not in ("score", "setup", "record")
    }
    told["record"] = {"record_id": whole.record.record_id, "lamp": whole.record.lamp}
    told["record"]["rig"] = whole.record.rig
    told["score"] = None if whole.score is None else tables_of(whole.score)
    told["setup"] = whole.setup.model_dump(mode="json")
    return told


def tell(key: str, told: Mapping[str, Any], *, json_: bool) -> None:
    """Put down what was found out about a print."""
    if all(value is None for value in told.values()):
        raise BadInput("nothing is said", "book print", "what is to be written beside it")
    with open_book() as book:
        kept = tell_of(book, key, **told)
    if json_:
        show.as_json(kept)
    else:
        show.cut(print_line(kept, when))


def tell_tones(key: str, densities: Sequence[str], *, json_: bool) -> None:
    """Put down densities of a dry print."""
    from controller.book.tones import keep_tones

    typed = tones_asked(densities, "print tones")
    with open_book() as book:
        kept = keep_tones(book, key, typed)
    if json_:
        show.as_json(kept)
        return
    show.lines(f"{one.region}: {one.density:.2f}, {one.how}" for one in kept)


def attach(key: str, picture: str, note: str, strips: Sequence[str], *, json_: bool) -> None:
    """Lay a picture, or strips, with pictures of their own (K4=scan.png), beside a print."""
    if not picture and not strips:
        right = "--picture FILE, or --strip MARK"
        raise BadInput("there is nothing to attach", "book print attach", right)
    with open_book() as book:
        entry = print_called(book, key)
        for strip in strips:
            mark, _, scan = strip.partition("=")
            page = lay_beside(book, f"#{entry.print_id}", mark)
            if scan:
                keep_copy(Path(scan), own_stem(page.record.marks[-1], page.record.record_id))
        if picture:
            _attach_picture(book, entry, Path(picture), note)
        whole = whole_print(book, f"#{entry.print_id}")
    if json_:
        show.as_json({"pictures": whole.pictures, "evidence": whole.evidence})
        return
    for kept in whole.pictures[:1] if picture else ():
        print(f"kept as {kept.file} in the folder of pictures")
    for one in whole.evidence:
        print(f"beside it: {one.mark}, {one.title}")


def _attach_picture(book: Book, entry: PrintEntry, source: Path, note: str) -> None:
    name = keep_copy(source, f"{entry.mark}-{entry.record_id[:8]}")
    add_picture(book, entry.print_id, name, note)


def _day(text: str, option: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(f"{quoted(text)} is no day", option, "a day such as 2026-11-26") from None
