"""A refusal in the words of a screen, where there are fields and keys, no options and commands."""

from __future__ import annotations

import re
from collections.abc import Mapping

PAPER = "on the Paper page (7, p)"
COMMANDS = (  # what a refusal advises at the prompt, and the key that does the same here
    (r"dryside paper sheet [^\s,;]+( --[a-z-]+( [^\s;,-][^\s;,]*(,[^\s;,]+)*)?)*", f"s {PAPER}"),
    (r"dryside paper read MARK --densities [^\s;]+", f"r {PAPER}"),
    (r"`?dryside paper new(?: NAME)?`?", f"a {PAPER}"),
)


def sentence(error: Exception, fields: Mapping[str, str] | None = None) -> str:
    """Write a refusal; ``--to-lux`` of the command line is as ``fields`` has it, or "to lux"."""
    known = fields or {}
    said = str(error)
    for command, key in COMMANDS:
        said = re.sub(command, key, said)
    return re.sub(
        r"--([a-z][a-z-]*)",
        lambda found: known.get(found[1]) or found[1].replace("-", " "),
        said,
    )
