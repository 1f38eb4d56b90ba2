"""Lists the longest functions and modules: ``python -m tests.house.sizes``."""

from __future__ import annotations

from tests.house.sources import functions, length, package

FUNCTION_LIMIT = 60
"""Lines of a function without its docstring: it fits a screen."""

MODULE_LIMIT = 500
"""Lines of a module: it is read in one sitting."""

SHOWN = 10


def longest_functions() -> list[tuple[int, str]]:
    """Lengths and places of all functions, longest first."""
    found = [(length(f), f"{source.at(f)} {name}") for source in package() for name, f in functions(source.tree)]
    return sorted(found, key=lambda item: (-item[0], item[1]))


def longest_modules() -> list[tuple[int, str]]:
    """Lengths and paths of all modules, longest first."""
    found = [(len(source.text.splitlines()), str(source.path)) for source in package()]
    return sorted(found, key=lambda item: (-item[0], item[1]))


def main() -> int:
    """Print both lists; 1 when one is over its limit."""
    over = 0
    for title, limit, found in (
        ("functions", FUNCTION_LIMIT, longest_functions()),
        ("modules", MODULE_LIMIT, longest_modules()),
    ):
        print(f"longest {title} (limit {limit} lines):")
        shown = max(SHOWN, sum(lines > limit for lines, _ in found))
        for lines, place in found[:shown]:
            over += lines > limit
            print(f"  {lines:4} {'OVER ' if lines > limit else ''}{place}")
    return 1 if over else 0


if __name__ == "__main__":
    raise SystemExit(main())
