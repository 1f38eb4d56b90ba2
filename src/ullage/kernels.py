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

_entries: dict[FunctionType, Any] = {}
_parts: dict[FunctionType, Any] = {}
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
    assert isinstance(function, FunctionType)
    if function not in _entries:
        from ullage.machine import entry

        _entries[function] = entry(_with_parts(function), _place_of_machine_code())
    return _entries[function]


def _part(function: FunctionType) -> Any:
    """The machine-code twin of a kernel for other kernels to call."""
    if function not in _parts:
        from ullage.machine import part

        _parts[function] = part(_with_parts(function))
    return _parts[function]


def _with_parts(function: FunctionType) -> FunctionType:
    """A copy of a kernel that calls the twins of the kernels that it calls."""
    names = dict(function.__globals__)
    for instruction in get_instructions(function):
        called = names.get(instruction.argval) if instruction.opname == "LOAD_GLOBAL" else None
        if isinstance(called, FunctionType) and is_kernel(called):
            names[instruction.argval] = _part(called)
    copy = FunctionType(function.__code__, names, function.__name__, function.__defaults__, function.__closure__)
    copy.__module__ = function.__module__
    copy.__qualname__ = function.__qualname__
    return copy


def is_kept(function: Callable[..., Any]) -> bool:
    """Whether the machine code of a kernel is on disk already, so that its first call is quick."""
    module = function.__module__.rpartition(".")[2]
    return any(Path(_place_of_machine_code()).glob(f"**/{module}.{function.__qualname__}-*.nbi"))


@cache
def _place_of_machine_code() -> str:
    """Directory of the machine code, named after a hash of all sources that may decide about it.

    A kernel's own file does not tell when a kernel that it calls, or a constant that it uses, has
    changed in another file; so every file counts that lies beside one with kernels.
    """
    if "NUMBA_CACHE_DIR" in os.environ:
        return os.environ["NUMBA_CACHE_DIR"]
    sources = {path: path.read_bytes() for path in sorted(Path(__file__).parent.rglob("*.py"))}
    folders = {path.parent for path, source in sources.items() if b"@kernel" in source}
    digest = hashlib.sha256(b"".join(source for path, source in sources.items() if path.parent in folders))
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return str(base / "ullage" / digest.hexdigest()[:16])
