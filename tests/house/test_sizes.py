"""Sizes that a person can take in."""

from __future__ import annotations

import ast

from tests.house import sizes
from tests.house.sources import functions, length


def test_functions_fit_a_screen() -> None:
    """A function longer than a screen hides the branch that hurts."""
    assert not [place for lines, place in sizes.longest_functions() if lines > sizes.FUNCTION_LIMIT]


def test_modules_are_read_in_one_sitting() -> None:
    """A module that nobody reads to its end is where two ways to do a thing meet."""
    assert not [place for lines, place in sizes.longest_modules() if lines > sizes.MODULE_LIMIT]


def test_a_docstring_does_not_count_as_length() -> None:
    """If words counted as code, people would write fewer of them."""
    text = 'def f():\n    """One\n    two.\n    """\n    return 1\n'
    ((_, function),) = functions(ast.parse(text))
    assert length(function) == 2
