"""A plugin of pytest: one module of the package comes from another file, and the proof runs without machine code.

``ULLAGE_PLANTED`` is the dotted name of the module and the file, with ``=`` between. The machine code of kernels
is kept by the sources as they stand in the package, so none of what may call the changed module is taken
from there: kernels of the proof run as plain Python, and so do those of the changed module, which call the machine
code of all others.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_file_location
from types import FunctionType, ModuleType
from typing import Any

import pytest

from tests.agree.uncompiled import uncompiled
from ullage import kernels

NAME, _, FILE = os.environ["ULLAGE_PLANTED"].partition("=")

NOT_LOADED = 9
"""Exit code when no test has loaded the changed module: then none has seen what is wrong with it."""

_machine_code = kernels.compiled


class Finder(MetaPathFinder):
    """Finds the changed module in its file."""

    def find_spec(self, name: str, path: Sequence[str] | None, target: ModuleType | None = None) -> ModuleSpec | None:
        """Where a module comes from; None for all but one."""
        return spec_from_file_location(name, FILE) if name == NAME else None


def compiled(kernel: Callable[..., Any]) -> Callable[..., Any]:
    """What runs a kernel here."""
    assert isinstance(kernel, FunctionType)
    if kernel.__module__.startswith("ullage.prove"):
        return uncompiled(kernel)
    if kernel.__module__ != NAME:
        return _machine_code(kernel)  # type: ignore[no-any-return]
    names = {
        name: _machine_code(called) if kernels.is_kernel(called) and called.__module__ != NAME else called
        for name, called in kernel.__globals__.items()
    }
    return FunctionType(kernel.__code__, names, kernel.__name__, kernel.__defaults__, kernel.__closure__)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Tell a test that did not see the bug from one that did not look where it is."""
    loaded = sys.modules.get(NAME)
    if loaded is None or loaded.__file__ != FILE:
        session.exitstatus = NOT_LOADED


sys.meta_path.insert(0, Finder())
kernels.compiled = compiled
