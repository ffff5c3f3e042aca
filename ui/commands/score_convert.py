"""``dryside score convert``: the same print at another size, aperture, filter, lamp or paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from controller.errors import BadInput, quoted
from controller.fields import pair_asked, size_asked, tones_asked
from controller.score.convert import Wanted
from controller.stops import factor_to_stops, parse_stops
from ui import show
from ui.commands.paper_convert import regions_json
from ui.commands.score import score_json
from ui.converted import converted_by_book
from ui.scores import keep, open_score, path_of

if TYPE_CHECKING:
    from controller.boxes.onto import Onto


def wanted_of(
    *,
    from_magnification: float | None,
    to_magnification: float | None,
    from_aperture: str,
    to_aperture: str,
    filters: Sequence[str],
    from_lux: float | None,
    to_lux: float | None,
    lamp: str,
    paper: str,
    batch: str,
    speed: str,
    stops: str,
    size: str,
) -> Wanted | None:
    """Put what is to change together; None where nothing is. Raises BadInput."""
    from_speed, to_speed = _pair(speed, "--speed") if speed else (None, None)
    wanted = Wanted(
        from_magnification=from_magnification,
        to_magnification=to_magnification,
        from_aperture=from_aperture,
        to_aperture=to_aperture,
        filters=tuple(
            pair_asked(text, "--filter", "the old filter and the new one, such as 5=4 1/2")
            for text in filters
        ),
        from_lux=from_lux,
        to_lux=to_lux,
        lamp=lamp,
        paper=paper,
        batch=batch,
        from_speed_p=from_speed,
        to_speed_p=to_speed,
        stops=parse_stops(stops, "--stops") if stops else None,
        size_mm=size_asked(size, "--size") if size else None,
    )
    return None if wanted == Wanted() else wanted


def convert_score(
    name: str,
    wanted: Wanted | None,
    *,
    densities: Sequence[str] = (),
    to: str,
    json_: bool,
) -> None:
    """Convert a score: show it line by line, and keep it where a name is given for it."""
    _, score = open_score(name)
    if wanted is None:
        right = "one change or more, such as --to-magnification 4"
        raise BadInput("nothing is changed", "score convert", right)
    converted = converted_by_book(score, wanted, densities=tones_asked(densities))
    if to:
        path = path_of(to)
        if path.exists():
            raise BadInput("there is a score already", str(path), "another name")
        keep(converted.score, path)
    _tell(converted, to, json_=json_)


def _tell(converted: Onto, to: str, *, json_: bool) -> None:
    if json_:
        show.as_json(
            {
                "factor": converted.factor,
                "stops": factor_to_stops(converted.factor),
                "lines": converted.lines,
                "unsettled": converted.unsettled,
                "regions": regions_json(converted.regions),
                "score": score_json(converted.score),
            }
        )
        return
    show.lines(converted.lines)
    if converted.unsettled:
        print("what is not settled: dryside strip, then dryside score convert --stops +1/3")
    print(f"score: {path_of(to)}" if to else "kept nowhere yet: --to NAME keeps it")


def _pair(text: str, option: str) -> tuple[float, float]:
    right = "the old and the new ISO speed, such as 200=250"
    before, after = pair_asked(text, option, right)
    try:
        return float(before), float(after)
    except ValueError:
        raise BadInput(f"{quoted(text)} is not understood", option, right) from None
