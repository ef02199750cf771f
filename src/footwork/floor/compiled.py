"""How functions are compiled: two kinds, so that the first run on a machine waits less.

Numba makes three things of a function: the code itself, a wrapper that Python calls it by, and one for C.
Of some hundred and fifty compiled functions Python calls three dozen.  The others are compiled as part of
these, so they need no wrapper and no file of their own: that takes a third off the first run.

An ``inner`` function called from Python ends the process: ``tests/test_house.py`` holds that none is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numba import njit

_Function = TypeVar("_Function", bound=Callable[..., Any])


def _compiler(**options: object) -> Callable[[_Function], _Function]:
    return njit(nogil=True, no_cfunc_wrapper=True, **options)  # type: ignore[no-any-return, call-overload]


entry: Callable[[_Function], _Function] = _compiler(cache=True)
"""Compiles a function that Python calls; what it is made of is kept on disk beside the source."""

inner: Callable[[_Function], _Function] = _compiler(no_cpython_wrapper=True)
"""Compiles a function that only compiled code calls."""

bare_entry: Callable[[_Function], _Function] = _compiler(cache=True, error_model="numpy", _nrt=False)
"""As ``entry``, for a function that makes no arrays and returns none: references are not counted in it, which
in such small functions takes longer than what they compute."""

bare: Callable[[_Function], _Function] = _compiler(no_cpython_wrapper=True, error_model="numpy", _nrt=False)
"""As ``inner``, for such a function."""

YES: bool = np.bool_(True)  # type: ignore[assignment]
NO: bool = np.bool_(False)  # type: ignore[assignment]
"""Arguments for compiled functions: of a plain True or False, and of a plain number, Numba compiles a version
of the function for that value alone, which where it gains nothing is a second wait."""
