"""One line that changes a score, as it is typed under the score on the screen."""

from __future__ import annotations

from controller.errors import BadInput, quoted
from controller.score.change import with_burn, with_dodge, with_pass, with_settings, without
from controller.score.model import Score

RIGHT = (
    "pass hard:5:-1/3, burn sky=+1@soft, dodge door=1/3@hard, drop burn:sky, "
    "or set process.time=3 min"
)
_WAYS = {"pass": with_pass, "burn": with_burn, "dodge": with_dodge, "drop": without}


def change_typed(score: Score, line: str) -> Score:
    """Change a score by one line that begins with what is meant. Raises BadInput or Refused."""
    word, _, rest = line.strip().partition(" ")
    if word == "set":
        return with_settings(score, [rest], "")
    if word not in _WAYS or not rest.strip():
        raise BadInput(f"{quoted(line)} is not understood", "change", RIGHT)
    return _WAYS[word](score, rest.strip(), "")
