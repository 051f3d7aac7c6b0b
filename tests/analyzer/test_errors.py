"""The error tree: one root, a fitting built-in beside it, and an exit code."""

from __future__ import annotations

import pytest

from analyzer import errors
from analyzer.errors import CatalogError, RacewayError


@pytest.mark.parametrize(
    ("name", "built_in", "exit_code"),
    [
        ("InputError", ValueError, 2),
        ("JobError", ValueError, 2),
        ("ElsewhereError", ValueError, 2),
        ("CatalogError", KeyError, 2),
        ("RouteError", ValueError, 3),
        ("PlacedError", ValueError, 3),
        ("OutputError", OSError, 2),
        ("SolverError", ArithmeticError, 2),
        ("GraphicsError", RuntimeError, 4),
    ],
)
def test_error_has_its_built_in_and_its_exit_code(name, built_in, exit_code):
    error = getattr(errors, name)("what is wrong, where, what to do")
    assert isinstance(error, RacewayError) and isinstance(error, built_in)
    assert error.exit_code == exit_code
    assert str(error) == "what is wrong, where, what to do"


def test_every_error_is_in_the_table_above():
    assert len(errors.__all__) == 10


def test_catalog_error_shows_its_message_without_quotes():
    assert str(CatalogError("no size '5/0'")) == "no size '5/0'"


def test_error_without_words_is_empty_text():
    assert str(RacewayError()) == ""
