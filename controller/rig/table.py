"""What every table of a rig file has in common: strictness, names, addresses."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError


def _address(value: object) -> object:
    if isinstance(value, str) and value.strip():
        return value
    if isinstance(value, int) and not isinstance(value, bool) and value >= 0:
        return value
    raise PydanticCustomError("address", "not an address")


def _from_root(value: str) -> str:
    if not value.startswith(("/", "~")):
        raise PydanticCustomError("from_root", "not a whole path")
    return value


def _one_word(value: str) -> str:
    plain = value.replace("-", "").replace("_", "")
    if not (plain.isalnum() and value[0].isalpha()):
        raise PydanticCustomError("one_word", "not one word")
    return value


Contact = Literal["normally-open", "normally-closed"]
Address = Annotated[int | str, BeforeValidator(_address)]
Name = Annotated[str, AfterValidator(_one_word)]
Text = Annotated[str, Field(min_length=1)]
Folder = Annotated[str, AfterValidator(_from_root)]


class Table(BaseModel):
    """A table of the rig file: forbids what it does not know."""

    # strict: TOML has types of its own, and "8" is not 8
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class Addressed(Table):
    """A table with an address; ``pin`` may be written for it."""

    @model_validator(mode="before")
    @classmethod
    def _pin_is_address(cls, given: object) -> object:
        if isinstance(given, dict) and "pin" in given and "address" not in given:
            given = {("address" if key == "pin" else key): value for key, value in given.items()}
        return given
