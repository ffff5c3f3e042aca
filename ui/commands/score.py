"""``dryside score``: a score written, shown, changed, mapped."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from controller.errors import BadInput
from controller.fields import size_asked
from controller.score.change import (
    with_burn,
    with_dodge,
    with_pass,
    with_settings,
    with_sketch,
    without,
)
from controller.score.doses import exposures, region_doses
from controller.score.dry_down import with_remembered
from controller.score.file import load_score, schema, tables_of
from controller.score.model import Score
from controller.score.new import demonstration, new_score
from controller.score.report import score_lines
from controller.score.sketching import with_region
from controller.stops import parse_time
from ui import show
from ui.scores import keep, kept, open_score, path_of


def new(
    name: str,
    *,
    base: str,
    passes: Sequence[str],
    fields: dict[str, str],
    size: str,
    demo: bool,
    json_: bool,
) -> None:
    """Begin a score; never over one that is there."""
    path = path_of(name)
    if path.exists():
        raise BadInput("there is a score already", str(path), "another name, or score edit")
    if demo:
        score = demonstration()
    else:
        tables: dict[str, Any] = {key: fields[key] for key in ("title", "negative") if fields[key]}
        paper: dict[str, Any] = {"name": fields["paper"], "batch": fields["batch"]}
        if size:
            paper["width_mm"], paper["height_mm"] = size_asked(size, "--size")
        tables["paper"] = {key: value for key, value in paper.items() if value}
        if fields["aperture"]:
            tables["setup"] = {"aperture": fields["aperture"]}
        score = new_score(parse_time(base, "--base"), list(passes), tables, str(path))
    score = remembered_dry_down(score)
    keep(score, path)
    _tell(path, score, json_=json_)


def show_score(name: str, *, json_: bool) -> None:
    """Show a score, or name all that there are."""
    if not name:
        names = kept()
        if json_:
            show.as_json(names)
        else:
            show.lines(names or ["no scores yet: dryside score new NAME, or score new NAME --demo"])
        return
    path, score = open_score(name)
    _tell(path, score, json_=json_)


def edit(
    name: str,
    *,
    settings: Sequence[str],
    passes: Sequence[str],
    burns: Sequence[str],
    dodges: Sequence[str],
    drops: Sequence[str],
    regions: Sequence[str],
    sketch_of: str,
    json_: bool,
) -> None:
    """Change a score; without anything to change it is opened in the editor."""
    path, score = open_score(name)
    file = str(path)
    if not (settings or passes or burns or dodges or drops or regions or sketch_of):
        score = _in_editor(path)
    if sketch_of:
        like = demonstration() if sketch_of == "demo" else open_score(sketch_of)[1]
        score = with_sketch(score, like, file)
    for text in drops:
        score = without(score, text, file)
    for text in regions:
        score = with_region(score, text, file)
    for text in passes:
        score = with_pass(score, text, file)
    score = _settled(score, settings, file)
    for text in burns:
        score = with_burn(score, text, file)
    for text in dodges:
        score = with_dodge(score, text, file)
    exposures(score)  # refuses what cannot be done, before it is kept
    keep(score, path)
    _tell(path, score, json_=json_)


def write_map(name: str, to: str, *, upright: bool) -> None:
    """Write the wall map of a score."""
    from controller.score.wall_map import write_wall_map

    path, score = open_score(name)
    target = Path(to) if to else Path(f"{path.stem}.pdf")
    if target.suffix.lower() != ".pdf":
        raise BadInput(f"{target} is not the name of a PDF", "--to", "such as map.pdf")
    write_wall_map(score, target, upright=upright)
    print(f"map: {target}")


def print_schema() -> None:
    """Print the JSON Schema of a score."""
    print(schema(), end="")


def remembered_dry_down(score: Score) -> Score:
    """Give the score with what its paper was found to need, where it says nothing itself."""
    from ui.unit import open_book

    if score.paper.dry_down or not score.paper.name:
        return score
    with open_book() as book:
        found = book.dry_down(score.paper.name, score.paper.batch)
    if found is None:
        return score
    return with_remembered(score, found.percent)


def _settled(score: Score, settings: Sequence[str], file: str) -> Score:
    """Set fields; another paper brings its dry-down with it, if it remembers one."""
    changed = with_settings(score, settings, file)
    had, has = score.paper, changed.paper
    is_another = (had.name, had.batch) != (has.name, has.batch)
    if not is_another or any(text.strip().startswith("paper.dry_down") for text in settings):
        return changed
    remembered = remembered_dry_down(changed)
    if remembered != changed:
        show.note(f"dry-down {remembered.paper.dry_down}, remembered for {has.name}")
    elif changed.paper.dry_down:
        show.note(f"the dry-down of {changed.paper.dry_down} stays, though the paper is another")
    return remembered


def score_json(score: Score) -> dict[str, Any]:
    """Give a score for programs: its tables, and what it comes to."""
    return {
        **tables_of(score),
        "exposures": [
            {
                "label": one.label,
                "kind": one.kind.value,
                "filter": one.filter,
                "dose_s": one.dose_s,
                "undried_s": one.undried_s,
                "follows_base": one.follows,
                "regions": one.regions,
                "held": [
                    {"regions": held.regions, "begin_s": held.begin_s, "end_s": held.end_s}
                    for held in one.held
                ],
            }
            for one in exposures(score)
        ],
        "region_doses_s": region_doses(score),
    }


def _tell(path: Path, score: Score, *, json_: bool) -> None:
    if json_:
        show.as_json({"file": str(path), **score_json(score)})
        return
    show.lines([f"{path}", *score_lines(score), *_sketch_lines(score)])


def _sketch_lines(score: Score) -> list[str]:
    from controller.score.drawing import draw_sketch, sketch_key

    if not score.sketch:
        return []
    # not every amount has room within its region: beneath it none is missing
    return ["", *draw_sketch(score, 64, 18), *sketch_key(score, handwork_only=True)]


def _in_editor(path: Path) -> Score:
    """Let a person change the file; it is read again, and judged, when the editor ends."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        right = "--set, --pass, --burn, --dodge or --drop; or a terminal, for your editor"
        raise BadInput("there is nothing to change", "score edit", right)
    editor = os.environ.get("VISUAL") or os.environ.get("EDITOR") or "nano"
    try:
        subprocess.run([*shlex.split(editor), str(path)], check=True)
    except (OSError, subprocess.CalledProcessError) as error:
        raise BadInput(f"{editor} did not work ({error})", "EDITOR", "the editor you use") from None
    return load_score(path)
