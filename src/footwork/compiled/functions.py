"""How functions are compiled.

An ``entry`` is called from Python, a ``unit`` from compiled code alone.  Either is compiled once, kept on
disk on its own and called by its address, so that what calls it does not hold a copy of it and is not
compiled anew when it changes.  An ``inner`` function is compiled as part of what calls it: the small ones,
which gain by it.  The ``bare`` ones count no references: functions that make no arrays and return none.

An ``inner`` function or a ``unit`` called from Python ends the process: ``tests/test_house.py`` holds that
none is.
"""

from __future__ import annotations

import copy
import hashlib
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from llvmlite import binding
from numba.core import config, types
from numba.core.compiler import Flags
from numba.core.registry import CPUDispatcher

from footwork.compiled.kept import NAMED, PREFIX, KeptCode
from footwork.compiled.signals import let_through, undisturbed

_Function = TypeVar("_Function", bound=Callable[..., Any])


class _Flags(Flags):
    """Numba's options of a compilation, told apart by what is set: it asks whether they are the same at each
    call of one of its own functions, which by all their values is a twentieth of the time."""

    __slots__ = ()

    def __hash__(self) -> int:
        return hash(frozenset(self._values))

    def __eq__(self, other: object) -> bool:
        if isinstance(other, _Flags):
            return bool(self._values == other._values)
        return bool(super().__eq__(other))


class _Part(CPUDispatcher):
    """A function that is compiled as part of each that calls it."""

    def __init__(self, function: Callable[..., Any], **options: object) -> None:
        usual = {"nopython": True, "boundscheck": None, "nogil": True, "no_cfunc_wrapper": True}
        super().__init__(function, targetoptions={**usual, **options})
        self._compiler._customize_flags = _Flags

    def compile(self, sig: Any) -> Any:
        """Compile a version, or read it from disk; undisturbed, for an interrupt would leave half of it.

        Between one function and the next that it calls there is a moment to stop.
        """
        with undisturbed(compiles=True):
            let_through()
            return super().compile(sig)

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """Whole numbers are handed on as 64 bits: one version serves where one for each width would be
        compiled."""
        return super().get_call_template([_wide(a) for a in args], {k: _wide(a) for k, a in kws.items()})


class _Kept(_Part):
    """One that is kept on disk as well, as Python calls it."""

    def __init__(self, function: Callable[..., Any], **options: object) -> None:
        super().__init__(function, **options)
        _KNOWN.append(self)
        self._cache = KeptCode(function, _is_part, str(sorted(self.targetoptions.items())))


class _ByAddress(_Kept):
    """One that is on disk by itself, and that others call by its address, under a name of its own."""

    def add_overload(self, result: Any) -> None:
        super().add_overload(result)
        function, arguments = self.py_func, tuple(result.signature.args)
        kinds = hashlib.sha256(str(arguments).encode()).hexdigest()[:16]
        name = f"{PREFIX}{function.__module__}.{function.__qualname__}:{kinds}"
        binding.add_symbol(name, result.library.get_pointer_to_function(result.fndesc.llvm_func_name))
        returns = str(result.signature.return_type)
        NAMED[name] = (function.__module__, function.__qualname__, arguments, returns)
        outside = copy.copy(result.fndesc)
        outside.mangled_name = name
        self.targetctx.remove_user_function(result.entry_point)
        self.targetctx.insert_user_function(result.entry_point, outside, ())


_KNOWN: list[_Kept] = []


def known() -> tuple[Callable[..., Any], ...]:
    """All functions that are kept on disk, of the modules imported so far."""
    return tuple(_KNOWN)


def is_kept(function: Any) -> bool:
    """Whether a compiled function lies on disk, made from today's source, or is loaded already."""
    return isinstance(function, _Kept) and (bool(function.overloads) or function._cache.holds_any())


def _wide(kind: Any) -> Any:
    kind = types.unliteral(kind)
    return types.int64 if isinstance(kind, types.Integer) and kind.bitwidth < 64 else kind


def _is_part(value: object) -> bool:
    """Whether a function is compiled into those that call it."""
    return not isinstance(value, _ByAddress)


def _compiler(kind: Callable[..., Any], **options: object) -> Callable[[_Function], _Function]:
    def compiler(function: _Function) -> _Function:
        return function if config.DISABLE_JIT else kind(function, **options)

    return compiler


_BARE: dict[str, object] = {"error_model": "numpy", "_nrt": False}

entry = _compiler(_ByAddress)
"""Compiles a function that Python calls, and others by its address."""

bare_entry = _compiler(_Kept, **_BARE)
"""As ``bare``, for a function that Python calls too."""

unit = _compiler(_ByAddress, no_cpython_wrapper=True)
"""Compiles a function that compiled code calls by its address."""

bare_unit = _compiler(_ByAddress, no_cpython_wrapper=True, **_BARE)

inner = _compiler(_Part, no_cpython_wrapper=True)
"""Compiles a function as part of each that calls it."""

bare = _compiler(_Part, no_cpython_wrapper=True, **_BARE)

YES: bool = np.bool_(True)  # type: ignore[assignment]
NO: bool = np.bool_(False)  # type: ignore[assignment]
"""Arguments for compiled functions: of a plain True or False, and of a plain number, Numba compiles a version
of the function for that value alone, which where it gains nothing is a second wait."""
