from collections.abc import Iterator
from pathlib import Path

import pytest

from controller.book.book import Book
from tests.controller.book.histories import now


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A book that was just begun, as bytes: to begin one takes Alembic's time."""
    path = tmp_path_factory.mktemp("empty") / "book.sqlite"
    Book.open(path, now=now).close()
    return path.read_bytes()


@pytest.fixture
def path(tmp_path: Path, empty_book: bytes) -> Path:
    path = tmp_path / "book.sqlite"
    path.write_bytes(empty_book)
    return path


@pytest.fixture
def book(path: Path) -> Iterator[Book]:
    with Book.open(path, now=now) as book:
        yield book


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory, empty_book: bytes) -> Iterator[Book]:
    """One book for many examples, each with a record of its own."""
    path = tmp_path_factory.mktemp("shared") / "book.sqlite"
    path.write_bytes(empty_book)
    with Book.open(path, now=now) as book:
        yield book
