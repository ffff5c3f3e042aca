"""What the tests of a room have ruled out, so that nobody looks there again. Pure."""

from __future__ import annotations

from datetime import date, datetime, time

from controller.errors import Refused
from controller.room.advice import WANTED_S
from controller.room.model import Place, Room
from controller.room.results import predict
from controller.room.wrong import COMMANDS, Settles, before

WORDS: dict[str, Settles] = {
    "leak": Settles.LEAK,
    "dark": Settles.DARK,
    "evenness": Settles.EVENNESS,
    "alignment": Settles.ALIGNMENT,
    "tray": Settles.DIRTY_TRAY,
    "agitation": Settles.AGITATION,
    "fix": Settles.FIX,
    "rinse": Settles.RINSE,
}


def ruled_out(room: Room, *, today: date) -> frozenset[Settles]:
    """Name the tests that found nothing: of each the newest verdict counts.

    The lights are ruled out where all of them together are proved safe at the easel for as
    long as handling takes, and no test of them has grown old.
    """
    found = {Settles.FOG} if room_is_proved(room, today=today) else set()
    newest: dict[str, tuple[datetime, bool]] = {}
    for one in room.verdicts:
        when = one.date if isinstance(one.date, datetime) else datetime.combine(one.date, time.min)
        if one.test not in newest or when >= newest[one.test][0]:
            newest[one.test] = (when, one.found)
    return frozenset(found | {WORDS[test] for test, (_, bad) in newest.items() if not bad})


def room_is_proved(room: Room, *, today: date) -> bool:
    """Tell whether every light that is listed is proved safe at the easel, all lit together."""
    if not room.lights:
        return False
    known = predict(room, [light.name for light in room.lights], at=Place.EASEL, today=today)
    safe = known.safe
    return known.whole and not known.old and safe is not None and safe.value_s >= WANTED_S


def require_in_order(wanted: Settles, room: Room, *, today: date) -> None:
    """Refuse a test that is not worth its trouble before another one; says which comes first.

    Raises Refused.
    """
    first = before(wanted, ruled_out(room, today=today))
    if first is None:
        return
    why = "the lights of the room are not proved"
    if first.settles is not Settles.FOG:
        why = f"the {first.settles.value} has not ruled out its cause"
    cost = "" if wanted is not Settles.ALIGNMENT else ", and turning screws loses what was right"
    raise Refused(
        f"{wanted.value} comes later: {why}, which is likelier and cheaper{cost}",
        (
            f"the {first.settles.value} first ({COMMANDS[first.settles]})",
            "the same with --anyway",
        ),
    )
