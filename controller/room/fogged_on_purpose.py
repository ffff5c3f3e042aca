"""The kinds of plans whose sheets are fogged on purpose: their paper has no budget."""

from __future__ import annotations

TESTS = frozenset(
    {
        "fog test",
        "which light",
        "coin check",
        "whole cycle",
        "flash strip",
        "leak test",
        "pale line",
        "evenness",
        "dark strips",
        "alignment test",
        "tray test",
        "agitation test",
        "fix test",
        "rinse test",
    }
)
