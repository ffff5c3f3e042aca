"""``dryside room budget`` and ``room paper``: what sheets have had, and where they are now."""

from __future__ import annotations

import time

import msgspec

from controller.desk.orders import OF_LIGHT, OF_PAPER, Order, Ordered
from controller.errors import BadInput, Refused
from controller.exposing.bench import PaperView
from controller.ports import Cue
from drivers.engine_words import Refusal
from drivers.places import data_folder, run_folder
from ui import show
from ui.attach import EngineClient, connect

ANSWER_S = 5.0
WHAT = {
    order.value.replace(" ", "-"): order for order in Order if order in OF_PAPER | set(OF_LIGHT)
}


def tell_budget(*, json_: bool) -> None:
    """Show what each sheet has used of its safe time: from the unit, else as it was left."""
    client = connect(run_folder(), screen=False)
    if client is None:
        _tell_left(json_=json_)
        return
    paper = _view(client)
    client.close()
    now_ns = client.clock.now_ns()
    rows = [
        {
            "mark": sheet.mark,
            "where": sheet.where,
            "used": sheet.used + sheet.per_s * max(0, now_ns - paper.at_ns) / 1e9,
            "per_s": sheet.per_s,
            "words": sheet.words,
        }
        for sheet in paper.sheets
    ]
    if json_:
        show.as_json(
            {"sheets": rows, "box_open": paper.box_open, "never_tested": list(paper.unproved)}
        )
        return
    for row in rows:
        print(f"{row['mark']}: {row['used']:.0%} of the safe time, {row['where']}")
    if not rows:
        print("no paper is out")
    if paper.box_open:
        print("the paper box is open")
    if paper.unproved:
        print(f"never tested, and in no figure: {', '.join(paper.unproved)}")


def say_of_paper(what: str, mark: str) -> None:
    """Say where paper is, or ask for white light; the unit answers."""
    order = WHAT.get(what)
    if order is None:
        raise BadInput(f"{what!r} is not known", "room paper", " or ".join(WHAT))
    client = connect(run_folder(), screen=False)
    if client is None:
        raise BadInput("no unit is running", "room paper", "`dryside` or `dryside unit` first")
    client.send(Ordered(order.value, mark))
    until_s = time.monotonic() + ANSWER_S
    while time.monotonic() < until_s:
        for message in client.receive(0.1):
            if isinstance(message, Refusal):
                client.close()
                raise Refused(message.why)
            if isinstance(message, Cue) and message.text:
                client.close()
                print(message.text)
                return
    client.close()
    raise Refused("the unit did not answer")


def _view(client: EngineClient) -> PaperView:
    until_s = time.monotonic() + ANSWER_S
    while time.monotonic() < until_s:
        for message in client.receive(0.1):
            if isinstance(message, PaperView):
                return message
    client.close()
    raise Refused("the unit did not answer")


def _tell_left(*, json_: bool) -> None:
    from controller.room.left import Left
    from drivers.engine_paper import PAPER_FILE

    path = data_folder() / PAPER_FILE
    try:
        left = msgspec.json.decode(path.read_bytes(), type=Left)
    except FileNotFoundError:
        left = Left(0.0)
    except (OSError, msgspec.MsgspecError):
        raise BadInput("it cannot be read", str(path), "the file as the unit wrote it") from None
    rows = [{"mark": one.mark, "where": one.where.lower(), "used": one.used} for one in left.sheets]
    if json_:
        show.as_json({"sheets": rows, "box_open": None, "never_tested": [], "as_left": True})
        return
    print("no unit is running; as it was left:")
    for row in rows:
        print(f"{row['mark']}: {row['used']:.0%} of the safe time")
    if not rows:
        print("no sheet has had any light")
