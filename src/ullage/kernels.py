"""One source, two ways to run it: plain Python and machine code.

A *kernel* is a function in the subset that both can run: it takes scalars, one-dimensional
sequences and named tuples of them, calls only `math` and other kernels by their bare names,
allocates nothing and raises nothing. Undecorated in behaviour, it runs as plain Python on
lists (which is also the exact reference: Python integers do not overflow). `compiled`
gives the machine-code twin of a kernel together with every kernel it calls, for numpy arrays.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from dis import get_instructions
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[..., Any])

_twins: dict[Callable[..., Any], Any] = {}
_registered: set[Callable[..., Any]] = set()


def kernel(function: F) -> F:
    """Mark a function as a kernel; it is returned unchanged."""
    _registered.add(function)
    return function


def is_kernel(thing: object) -> bool:
    """Whether a thing was marked with `kernel`."""
    return isinstance(thing, FunctionType) and thing in _registered


def compiled(function: Callable[..., Any]) -> Any:
    """The machine-code twin of a kernel (compiled at first call, then kept on disk).

    Raises
    ------
    TypeError
        When the function was not marked with `kernel`.
    """
    if not is_kernel(function):
        raise TypeError(f"{function!r} is not a kernel")
    if function not in _twins:
        assert isinstance(function, FunctionType)
        _twins[function] = _twin(function)
    return _twins[function]


def _twin(function: FunctionType) -> Any:
    from numba import config, njit

    # Set here and not only in the environment, which numba reads once, perhaps long before this.
    config.CACHE_DIR = _place_of_machine_code()  # type: ignore[attr-defined]

    names = dict(function.__globals__)
    for instruction in get_instructions(function):
        called = names.get(instruction.argval) if instruction.opname == "LOAD_GLOBAL" else None
        if isinstance(called, FunctionType) and is_kernel(called):
            names[instruction.argval] = compiled(called)
    copy = FunctionType(function.__code__, names, function.__name__, function.__defaults__, function.__closure__)
    copy.__module__ = function.__module__
    copy.__qualname__ = function.__qualname__
    # Kernels allocate nothing, so machine code need not count references: that alone halves a scan.
    options: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}
    return njit(**options)(copy)


def is_kept(function: Callable[..., Any]) -> bool:
    """Whether the machine code of a kernel is on disk already, so that its first call is quick."""
    module = function.__module__.rpartition(".")[2]
    return any(Path(_place_of_machine_code()).glob(f"**/{module}.{function.__qualname__}-*.nbi"))


@cache
def _place_of_machine_code() -> str:
    """Directory of the machine code, named after a hash of all sources that hold kernels.

    A kernel's own file does not tell when a kernel that it calls in another file has changed.
    """
    if "NUMBA_CACHE_DIR" in os.environ:
        return os.environ["NUMBA_CACHE_DIR"]
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.rglob("*.py")):
        source = path.read_bytes()
        if b"@kernel" in source:
            digest.update(source)
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return str(base / "ullage" / digest.hexdigest()[:16])
