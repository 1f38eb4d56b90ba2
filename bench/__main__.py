"""Runs every bench of the package, or those named, each in a process of its own."""

from __future__ import annotations

import pkgutil
import subprocess
import sys

import bench

SHARED = {"__main__", "chains", "measure", "promela"}


def names() -> list[str]:
    """All benches, in order of name."""
    return [module.name for module in pkgutil.iter_modules(bench.__path__) if module.name not in SHARED]


def main(wanted: list[str]) -> int:
    """Run them; 1 when one failed or missed its goal, 2 when one is unknown."""
    known = names()
    unknown = [name for name in wanted if name not in known]
    if unknown:
        print(f"no bench is called {', '.join(unknown)}; there are: {', '.join(known)}", file=sys.stderr)
        return 2
    failed = []
    for name in wanted or known:
        print(f"--- {name}", flush=True)
        # A process of its own: what one bench compiled or filled the memory with must not help or hurt the next.
        if subprocess.call([sys.executable, "-c", f"import sys; from bench.{name} import main; sys.exit(main())"]):
            failed.append(name)
    print(f"--- missed or failed: {', '.join(failed)}" if failed else "--- every goal met")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
