"""A refusal in the words of a screen, where there are fields and no options."""

from __future__ import annotations

import re
from collections.abc import Mapping


def sentence(error: Exception, fields: Mapping[str, str] | None = None) -> str:
    """Write a refusal; ``--to-lux`` of the command line is as ``fields`` has it, or "to lux"."""
    known = fields or {}
    return re.sub(
        r"--([a-z][a-z-]*)",
        lambda found: known.get(found[1]) or found[1].replace("-", " "),
        str(error),
    )
