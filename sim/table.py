"""What every table of the simulator's settings is: strict, and never changed after reading."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of a rig file; a key it does not know is refused, and so is a number like "nan"."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
