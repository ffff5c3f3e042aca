"""The large book's benchmark: a short run over every question it asks."""

from __future__ import annotations

from ui.measure.book import measure_book


def test_a_small_book_is_asked_every_question() -> None:
    """What was filled in is what is found, and the table names every question."""
    report = measure_book(300)
    assert report.prints == 300
    assert len(report.asked) == 9
    assert all(one.median_ms > 0 for one in report.asked)
    assert all(one.what in report.table() for one in report.asked)
    assert report.to_json()["prints"] == 300
