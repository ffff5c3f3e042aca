"""Changing a score as somebody types it: one field, one burn, one dodge, one pass at a time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from controller.errors import BadInput, quoted
from controller.rig.settings import value_of
from controller.score.file import from_tables, tables_of
from controller.score.model import ALL_PASSES, Score
from controller.score.sketching import without_region

RIGHT_SET = "a field and its value, such as base_s=12, paper.batch=A7 or passes.hard.dose=-1/3"
RIGHT_PASS = "LABEL:FILTER:DOSE, such as hard:5:-1/3 or soft:00:8s"
RIGHT_BURN = "REGION=AMOUNT@PASS, such as sky=+1@soft, or sky=4s:00@soft with a filter"
RIGHT_DODGE = "REGION=AMOUNT@PASS, such as door=1/3@hard, or door=2s:3s@hard with its beginning"
RIGHT_DROP = "what is to go, such as pass:hard, burn:sky, dodge:door or flash"
_LOCAL = re.compile(r"([^=]+)=([^@:]+)(?::([^@]*))?(?:@(.+))?")
# what a list's entries are called by
_NAMED = {"passes": "label", "burns": "regions", "dodges": "regions"}


def with_settings(score: Score, settings: Sequence[str], file: str) -> Score:
    """Set fields by their paths. Raises BadInput."""
    tables = tables_of(score)
    for setting in settings:
        path, equals, text = setting.partition("=")
        if not equals or not path.strip() or not path.isprintable():
            raise BadInput(f"{quoted(setting)} sets nothing", "--set", RIGHT_SET)
        _set(tables, path.strip().split("."), _value(text))
    return from_tables(tables, file)


def with_pass(score: Score, text: str, file: str) -> Score:
    """Add a pass, or change the one with its label. Raises BadInput.

    A pass that is there keeps what is left empty; ``none`` takes its filter away.
    """
    found = pass_asked(text)
    label, through, dose = _parts(text)
    tables = tables_of(score)
    entries = tables["passes"]
    old = next((entry for entry in entries if entry["label"] == label), None)
    if old is None:
        entries.append(found)
    else:
        if through == "none":
            old.pop("filter", None)
        elif through:
            old["filter"] = through
        if dose:
            old["dose"] = dose
    return from_tables(tables, file)


def pass_asked(text: str) -> dict[str, Any]:
    """Read a pass as it is typed. Raises BadInput."""
    label, through, dose = _parts(text)
    entry = {"label": label}
    if through and through != "none":
        entry["filter"] = through
    return entry | {"dose": dose or "+0"}


def with_burn(score: Score, text: str, file: str) -> Score:
    """Add a burn, or change that of the same region and pass. Raises BadInput."""
    region, amount, through, over = _local(text, "--burn", RIGHT_BURN)
    entry: dict[str, Any] = {"regions": region, "amount": amount}
    if over:
        entry["over"] = over
    if through:
        entry["filter"] = through
    return _with_local(score, "burns", "over", entry, file)


def with_dodge(score: Score, text: str, file: str) -> Score:
    """Add a dodge, or change that of the same region and pass. Raises BadInput."""
    region, amount, begin, within = _local(text, "--dodge", RIGHT_DODGE)
    if not within:
        if len(score.passes) > 1:
            raise BadInput(f"{quoted(text)} does not say in which pass", "--dodge", RIGHT_DODGE)
        within = score.passes[0].label
    entry: dict[str, Any] = {"regions": region, "amount": amount, "within": within}
    if begin:
        entry["begin"] = begin
    return _with_local(score, "dodges", "within", entry, file)


def without(score: Score, text: str, file: str) -> Score:
    """Take something out. Raises BadInput."""
    what, _, name = (part.strip() for part in text.partition(":"))
    if what == "region":
        return without_region(score, name, file)
    tables = tables_of(score)
    if what == "flash" and tables.pop("flash", None):
        return from_tables(tables, file)
    key = {"pass": "passes", "burn": "burns", "dodge": "dodges"}.get(what, "")
    entries = tables.get(key, [])
    kept = [entry for entry in entries if not _called(entry, key, name)]
    if not key or len(kept) == len(entries):
        raise BadInput(f"there is no {quoted(text)} in the score", "--drop", RIGHT_DROP)
    tables[key] = kept
    return from_tables(tables, file)


def with_sketch(score: Score, like: Score, file: str) -> Score:
    """Take sketch and regions over from another score. Raises BadInput where names are missing."""
    tables = tables_of(score) | {"sketch": list(like.sketch), "regions": dict(like.regions)}
    return from_tables(tables, file)


# --- inside -----------------------------------------------------------------------------------


def _parts(text: str) -> tuple[str, str, str]:
    parts = [part.strip() for part in text.split(":")]
    if len(parts) != 3 or not parts[0]:
        raise BadInput(f"{quoted(text)} is not a pass", "--pass", RIGHT_PASS)
    return parts[0], parts[1], parts[2]


def _value(text: str) -> object:
    try:
        value = value_of(text.strip())
    except ValueError:  # a number of thousands of digits
        return text.strip()
    # what looks like a number or a date may be the name of a filter or a batch
    return value if isinstance(value, str | list | dict) else text.strip()


def _set(tables: dict[str, Any], path: list[str], value: object) -> None:
    at: Any = tables
    for index, key in enumerate(path[:-1]):
        if isinstance(at, list):
            entries = [entry for entry in at if isinstance(entry, dict)]
            found = [entry for entry in entries if _called(entry, path[index - 1], key)]
            if not found:
                raise BadInput(
                    f"there is nothing called {key!r}", f"--set {'.'.join(path)}", RIGHT_SET
                )
            at = found[0]
        elif key in _NAMED:
            at = at.setdefault(key, [])
        else:
            at = at.setdefault(key, {})
        if not isinstance(at, dict | list):
            raise BadInput(f"{key!r} has no fields", f"--set {'.'.join(path)}", RIGHT_SET)
    if isinstance(at, list):
        raise BadInput("a whole entry cannot be set at once", f"--set {'.'.join(path)}", RIGHT_SET)
    if value == "" and path[-1] in at:
        del at[path[-1]]
    else:
        at[path[-1]] = value


def _called(entry: dict[str, Any], key: str, name: str) -> bool:
    value = entry.get(_NAMED.get(key, "label"), "")
    if isinstance(value, str):
        return name == value
    return name == " and ".join(value) or _names(name) == value


def _names(text: str) -> list[str]:
    """Read the names of regions: ``sky+cloud``, or ``sky and cloud``."""
    return [name.strip() for name in re.split(r"\+| and ", text) if name.strip()]


def _local(text: str, option: str, right: str) -> tuple[list[str], str, str, str]:
    found = _LOCAL.fullmatch(text.strip())
    if not found:
        raise BadInput(f"{quoted(text)} is not understood", option, right)
    return _names(found[1]), found[2].strip(), (found[3] or "").strip(), (found[4] or "").strip()


def _with_local(score: Score, key: str, of: str, entry: dict[str, Any], file: str) -> Score:
    tables = tables_of(score)
    entries = tables.setdefault(key, [])
    default = ALL_PASSES if of == "over" else ""
    for old in entries:
        if old["regions"] == entry["regions"] and old.get(of, default) == entry.get(of, default):
            kept = {"note": old["note"]} if "note" in old else {}
            old.clear()
            old.update(entry | kept)
            break
    else:
        entries.append(entry)
    return from_tables(tables, file)
