"""What holds for every test: those marked ``long`` run with ``./check --long`` alone."""

from __future__ import annotations

import os

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what takes long and has a shorter sibling, unless it was asked for."""
    if os.environ.get("DRYSIDE_LONG"):
        return
    skip = pytest.mark.skip(reason="takes long: ./check --long")
    for item in items:
        if item.get_closest_marker("long"):
            item.add_marker(skip)
