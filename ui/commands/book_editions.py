"""``dryside book edition``: begun, printed, signed, looked at."""

from __future__ import annotations

from controller.book import editions as kept
from controller.book.print_entries import Edition, SignedPrint, proofs_warning
from controller.book_told.edition_run import EditionGot, got_of, last_to_copy
from controller.book_told.edition_words import edition_head, got_lines, signed_lines
from controller.fields import whole_asked
from controller.numbered import numbered
from controller.rig.lights import around
from controller.score.file import to_json
from controller.score.plan import MOST_SHEETS, plan_score
from ui import show
from ui.commands.score_run import leave_others
from ui.exposing import Ways, expose
from ui.scores import open_score
from ui.show import when
from ui.unit import open_book


def new(name: str, copies: int, proofs: int, negative: str, remark: str, *, json_: bool) -> None:
    """Begin an edition."""
    with open_book() as book:
        begun = kept.begin_edition(
            book, name, copies, artist_proofs=proofs, negative=negative, remark=remark
        )
    show.note(proofs_warning(copies, proofs))
    if json_:
        show.as_json(begun)
    else:
        show.lines(edition_head(begun))


def sign(name: str, key: str, number: str, *, json_: bool) -> None:
    """Put down that a print was signed."""
    with open_book() as book:
        signed = kept.sign(book, name, key, number)
        edition = kept.edition(book, name)
    if json_:
        show.as_json(_signed_json(signed))
        return
    print(f"{signed.mark} is {signed.written} of {edition.name}; left: {_left(edition)}")


def show_edition(name: str, *, json_: bool) -> None:
    """Show an edition, or list them all."""
    with open_book() as book:
        if not name:
            found = kept.editions(book)
            if json_:
                show.as_json([_edition_json(one, None) for one in found])
                return
            if not found:
                print("the book has no edition yet; `dryside book edition new` begins one")
            for each in found:
                print(edition_head(each)[0])
            return
        edition = kept.edition(book, name)
        got = got_of(book, edition.name)
    if json_:
        show.as_json(_edition_json(edition, got))
        return
    show.lines(edition_head(edition))
    show.lines(signed_lines(edition, when))
    show.lines(got_lines(got))


def run(name: str, copies: str, score: str, ways: Ways, *, json_: bool, show_plan: bool) -> None:
    """Print copies of an edition, and tell what each really got."""
    with open_book() as book:
        edition = kept.edition(book, name)
        copied = None if score else last_to_copy(book, edition)
    wanted = copied.score if copied else open_score(score)[1]
    if copied:
        show.note("; ".join([f"from the score of {copied.mark}", *copied.extras]))
    unit = ways.unit()
    rig = unit.rig
    sheets = whole_asked(copies, "--copies", 1, MOST_SHEETS)
    plan = plan_score(wanted, rig.calibration(), rig.limits(), around(rig), sheets=sheets)
    if show_plan:
        show.plan(plan, json_=json_)
        return
    if sheets > (left := len(edition.left)):
        told = f"{numbered(sheets, 'print')}, and {numbered(left, 'number')} left"
        show.note(f"{told}: some stay without one")
    made = expose(unit, plan, to_json(wanted), ways, edition=edition.name)
    leave_others(wanted, made, last=True, tell=False)
    with open_book() as book:
        got = got_of(book, edition.name)
    if json_:
        show.as_json(_edition_json(edition, got))
        return
    for sheet in made.page.sheets:
        print(f"{sheet.mark}: {sheet.fate.value if sheet.fate else 'interrupted'}")
    show.lines(got_lines(got))
    print(f"number them when they are dry: dryside book edition sign '{edition.name}' MARK")


def _left(edition: Edition) -> str:
    return f"{len(edition.left)} of {edition.copies}" if edition.left else "none"


def _signed_json(one: SignedPrint) -> dict[str, object]:
    import msgspec

    return dict(msgspec.to_builtins(one)) | {"kind": one.kind.name.lower()}


def _edition_json(edition: Edition, got: EditionGot | None) -> dict[str, object]:
    import msgspec

    told: dict[str, object] = dict(msgspec.to_builtins(edition))
    told["signed"] = [_signed_json(one) for one in edition.signed]
    told["left"] = edition.left
    return told if got is None else told | {"got": msgspec.to_builtins(got)}
