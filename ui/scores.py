"""Where scores are kept, and how one is found by what was typed."""

from __future__ import annotations

from pathlib import Path

from controller.errors import BadInput, quoted
from controller.score.file import load_score, save_score
from controller.score.model import Score
from drivers.places import data_folder

SUFFIXES = (".toml", ".json")
MOST_BYTES = 200  # of a name; a file system takes 255, and a suffix is added while it is written


def folder() -> Path:
    """Give the folder of scores; made where it is missing."""
    made = data_folder() / "scores"
    made.mkdir(parents=True, exist_ok=True)
    return made


def path_of(name: str) -> Path:
    """Give the file that is meant: a path as it is, a bare name in the folder of scores.

    What has no suffix of a score gets one; a name may also mean a JSON file in the folder.
    """
    path = Path(name)
    if path.suffix.lower() in SUFFIXES:
        return path
    if path.parent != Path():
        return path.with_name(f"{path.name}.toml")
    json, toml = (folder() / f"{name}{suffix}" for suffix in (".json", ".toml"))
    return json if json.exists() and not toml.exists() else toml


def named(name: str) -> Path:
    """Give the file in the folder of scores for a bare name. Raises BadInput for any other."""
    plain = name.strip()
    if not plain.isprintable() or not plain.strip(".") or set(plain) & set('/\\:*?"<>|'):
        raise BadInput(f"{quoted(name)} is no name", "keep as", "letters and figures, no slash")
    if len(plain.encode()) > MOST_BYTES:
        raise BadInput("the name is too long", "keep as", f"{MOST_BYTES} letters at most")
    return folder() / f"{plain.removesuffix('.toml')}.toml"


def open_score(name: str) -> tuple[Path, Score]:
    """Find and read a score. Raises BadInput, with the names of those that there are."""
    path = path_of(name)
    if not path.exists():
        known = ", ".join(kept()) or "none yet; dryside score new NAME begins one"
        raise BadInput("there is no such score", str(path), f"a file, or one of: {known}")
    return path, load_score(path)


def score_called(name: str) -> Score:
    """Find and read a score; one without title and negative is called as its file is.

    Raises BadInput.
    """
    path, score = open_score(name)
    if score.title or score.negative:
        return score
    return score.model_copy(update={"title": path.stem})


def keep(score: Score, path: Path) -> None:
    """Write a score; only the folder of scores is ever made. Raises BadInput."""
    if not path.parent.is_dir():
        right = "a folder that exists, or a bare name, which is kept in the folder of scores"
        raise BadInput("there is no such folder", str(path.parent), right)
    save_score(score, path)


def kept() -> list[str]:
    """Name the scores in the folder."""
    return sorted({path.stem for suffix in SUFFIXES for path in folder().glob(f"*{suffix}")})
