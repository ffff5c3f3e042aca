"""A score as a file: both forms, older and newer versions, and the published schema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from controller.errors import BadInput
from controller.score.file import (
    brought_up,
    load_score,
    save_score,
    schema,
    score_of,
    tables_of,
    to_json,
    to_toml,
)
from controller.score.model import Score
from controller.score.new import demonstration, new_score
from tests.controller.score.scores import scores, split

VALIDATOR = jsonschema.Draft202012Validator(json.loads(schema()))
slowly = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


@slowly
@given(scores())
def test_a_score_comes_back_from_either_form(score: Score) -> None:
    """Written as TOML or as JSON and read again, a score is what it was, to the last digit."""
    assert score_of(to_toml(score), "a") == score
    assert score_of(to_json(score), "a") == score


@slowly
@given(scores())
def test_the_schema_takes_what_is_written(score: Score) -> None:
    """Whatever JSON Dryside writes is a score by its published schema."""
    VALIDATOR.validate(json.loads(to_json(score)))


@pytest.mark.parametrize(
    "wrong",
    [
        {"base_s": 0},
        {"base_s": "12"},
        {"passes": []},
        {"passes": [{"dose": "+0"}]},
        {"passes": [{"label": "soft", "dose": 8}]},
        {"judged": "damp"},
        {"version": 2},
        {"bass_s": 12},
        {"flash": {"dose_s": -1}},
        {"sketch": "SSDD"},
    ],
    ids=str,
)
def test_the_schema_refuses_a_wrong_score(wrong: dict[str, Any]) -> None:
    """The schema itself is a valid one, and refuses what the program would."""
    VALIDATOR.check_schema(VALIDATOR.schema)
    good = json.loads(to_json(split()))
    VALIDATOR.validate(good)
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate(good | wrong)


def test_the_demonstration_is_read_and_written() -> None:
    """The score that shows what a score can be comes back from both forms."""
    score = demonstration()
    assert score_of(to_toml(score), "a") == score_of(to_json(score), "b") == score
    assert len(score.passes) == 2
    assert score.burns
    assert score.dodges


def test_a_written_score_is_short_and_says_its_version() -> None:
    """Only what was set is written, the version first."""
    written = to_toml(new_score(8, [], {}, "a"))
    assert written == 'version = 1\nbase_s = 8.0\n\n[[passes]]\nlabel = "print"\n'


@pytest.mark.parametrize("name", ["print.toml", "print.json"])
def test_a_score_is_kept_in_a_file(tmp_path: Path, name: str) -> None:
    """The name says in which form; nothing else is left in the folder."""
    save_score(split(), tmp_path / name)
    assert load_score(tmp_path / name) == split()
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text().startswith("{") is (name == "print.json")


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """Neither reading nor writing where nothing is ends in a traceback."""
    nowhere = tmp_path / "no" / "print.toml"
    with pytest.raises(BadInput, match="there is no such file"):
        load_score(nowhere)
    with pytest.raises(BadInput, match="it cannot be written"):
        save_score(split(), nowhere)


def test_a_file_without_a_version_is_of_the_first() -> None:
    """The oldest score says nothing of versions, and opens."""
    tables = tables_of(split())
    del tables["version"]
    assert score_of(json.dumps(tables), "a") == split()


def test_an_older_version_is_brought_up_step_by_step() -> None:
    """Each change makes the tables of the next version, and the given ones stay as they were."""
    seen = []

    def to_2(raw: dict[str, Any]) -> dict[str, Any]:
        seen.append(raw.get("version", 1))
        return {"base_s" if key == "time_s" else key: value for key, value in raw.items()}

    def to_3(raw: dict[str, Any]) -> dict[str, Any]:
        seen.append(raw["version"])
        return raw | {"title": "brought up"}

    old = {"time_s": 3}
    changes = {1: to_2, 2: to_3}
    assert brought_up(old, "a", changes) == {"base_s": 3, "title": "brought up", "version": 3}
    assert seen == [1, 2]
    assert old == {"time_s": 3}
    assert brought_up({"version": 2}, "a", changes) == {"title": "brought up", "version": 3}
    assert brought_up({"version": 3, "base_s": 1}, "a", changes) == {"version": 3, "base_s": 1}


def test_a_newer_version_is_refused() -> None:
    """A file of tomorrow is not read half."""
    with pytest.raises(BadInput, match=r"a.toml, version: .* newer Dryside \(version 2\)"):
        score_of("version = 2\nbase_s = 8", "a.toml")
    with pytest.raises(BadInput, match=r"newer .* right would be a score of version 3 or older"):
        brought_up({"version": 4}, "a", {1: dict, 2: dict})


@pytest.mark.parametrize("version", [0, -1, 1.0, "1", True, None])
def test_what_is_no_version_is_refused(version: object) -> None:
    """A version is a whole number from 1."""
    with pytest.raises(BadInput, match="is no version"):
        brought_up({"version": version}, "a")


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "{]",
        "[1]",
        "base_s = ",
        "base_s = 8\nbase_s = 9",
        '{"base_s": NaN, "passes": [{"label": "a"}]}',
        '{"base_s": 1e999, "passes": [{"label": "a"}]}',
        '{"base_s": 8, "title": "\\ud800", "passes": [{"label": "a"}]}',
        "base_s = " + "1" * 5000,
        '{"base_s": ' + "1" * 5000 + "}",
        '{"a":' * 5000,
        "a = " + "[" * 5000,
        "base_s = 8\npasses = 3",
        "base_s = 8\n[passes]\nlabel = 'a'",
    ],
    ids=lambda text: text[:12],
)
def test_what_is_no_score_is_refused_in_a_sentence(text: str) -> None:
    """Nothing but BadInput, and it names the file."""
    with pytest.raises(BadInput) as refused:
        score_of(text, "my.toml")
    assert refused.value.where.startswith("my.toml")


@slowly
@given(st.text(max_size=60))
def test_any_text_is_a_score_or_refused(text: str) -> None:
    """No text makes the reader fail in another way."""
    with pytest.raises(BadInput):
        score_of(text, "a")
