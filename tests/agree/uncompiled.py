"""Kernels run as plain Python on the arrays that their machine code is called with."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np


def uncompiled(kernel: Callable[..., Any]) -> Callable[..., Any]:
    """A kernel that takes what its machine code takes: it sees each array as a sequence of Python's own numbers."""

    def run(*arguments: Any) -> Any:
        return kernel(*map(_seen, arguments))

    return run


def _seen(argument: Any) -> Any:
    if isinstance(argument, tuple):
        return type(argument)(*map(_seen, argument))
    return memoryview(argument) if isinstance(argument, np.ndarray) else argument
