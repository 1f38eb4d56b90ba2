"""Kernels as machine code: all that leans on how numba works inside is here.

Of its own accord numba makes each function it compiles ready to be called from Python, optimises
it and turns it into machine code, always together with everything that it calls, and makes a
variant for every literal number that it is called with. Here only what Python calls is an
*entry*; all kernels below are *parts*, which are linked into it once: 30 s instead of 86 s for
the closed loop of the demo on one core.
"""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path
from types import FunctionType
from typing import Any

from numba import config
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler
from numba.core.registry import CPUDispatcher
from numba.core.types import unliteral

PLACES_KEPT = 8
"""Machine code is kept for so many states of the sources: a person goes back and forth between a few."""

_HASH = re.compile("[0-9a-f]{16}")

# Kernels allocate nothing, so machine code need not count references: that alone halves a scan.
_OPTIONS = {"nopython": True, "nogil": True, "error_model": "numpy", "boundscheck": None, "_nrt": False}


class _PartLibrary(JITCodeLibrary):
    """Code that is only ever linked into an entry: not optimised and never run by itself."""

    def _optimize_final_module(self) -> None:
        """Leave it to the entry."""

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()  # type: ignore[no-untyped-call]
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:
        """0: there is no machine code of it."""
        return 0

    @property
    def codegen(self) -> _PartLibrary:
        """What is asked for `set_env`, and for nothing else."""
        return self

    def set_env(self, name: str, environment: object) -> None:
        """Nothing: only functions that make Python objects need their Python globals."""


class _PartCompiler(Compiler):
    """Numba's own compiler, with a library as above."""

    def define_pipelines(self) -> Any:
        """The usual passes."""
        state: Any = self.state
        library: Any = _PartLibrary
        state.library = library(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        return super().define_pipelines()  # type: ignore[no-untyped-call]


class _Twin(CPUDispatcher):
    """A compiled kernel: one variant for all numbers that it may be called with."""

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """As numba's, but with ``int`` in place of each literal number."""
        return super().get_call_template([unliteral(arg) for arg in args], kws)  # type: ignore[no-untyped-call]


def entry(function: FunctionType, directory: str) -> Any:
    """The twin of a kernel for Python to call; its machine code is kept in a directory."""
    keep_latest(Path(directory))
    # Set here and not only in the environment, which numba reads once, perhaps long before this.
    config.CACHE_DIR = directory  # type: ignore[attr-defined]
    twin = _Twin(py_func=function, targetoptions=_OPTIONS)
    twin.enable_caching()
    return twin


def part(function: FunctionType) -> Any:
    """The twin of a kernel for kernels to call."""
    options = {**_OPTIONS, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    return _Twin(py_func=function, targetoptions=options, pipeline_class=_PartCompiler)


def keep_latest(place: Path, count: int = PLACES_KEPT) -> None:
    """Note that a place of machine code is used, and forget the places beside it that were not used lately.

    Parameters
    ----------
    place : Path
        Named after a hash of the sources; one that a person chose has another name, and nothing beside it is ours.
    count : int
        So many places stay, this one among them.
    """
    if not _HASH.fullmatch(place.name):
        return
    place.mkdir(parents=True, exist_ok=True)
    os.utime(place)
    places = [other for other in place.parent.iterdir() if _HASH.fullmatch(other.name)]
    for old in sorted(places, key=lambda other: other.stat().st_mtime_ns)[:-count]:
        # Two processes may tidy up at once.
        shutil.rmtree(old, ignore_errors=True)
