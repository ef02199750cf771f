"""Compiled code kept on disk, and known to be of today's source.

Numba keeps a compiled function under the time stamp of its own file, so an edit of a function that it calls,
in another file, goes unseen.  Here it is kept under a digest of all that it is made of (``digest``): its own
bytecode, that of every function compiled into it, and the constants these use.  A function that is called by
its address (``functions.py``) is not part of its callers: they are bound to what it takes and returns alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from pickle import UnpicklingError
from types import CodeType, FunctionType, ModuleType
from typing import Any

from numba.core.caching import CompileResultCacheImpl, IndexDataCacheFile
from numba.core.errors import NumbaError

PREFIX = "footwork:"
"""How the names of functions begin that are called by their address."""


@lru_cache(maxsize=1)
def _how() -> bytes:
    """A digest of how functions are compiled: of the modules of this room."""
    modules = sorted(Path(__file__).parent.glob("*.py"))
    return hashlib.sha256(b"".join(module.read_bytes() for module in modules)).digest()


def digest(function: Callable[..., Any], is_part: Callable[[object], bool], options: str) -> str:
    """A digest of a function and of all that is compiled into it; ``is_part`` says what of the functions
    that it calls is, ``options`` how it is compiled."""
    sums = hashlib.sha256(_how() + options.encode())
    for name, what in sorted(_parts(function, is_part, {})):
        sums.update(f"{name}={what};".encode())
    return sums.hexdigest()


def _parts(
    function: Callable[..., Any], is_part: Callable[[object], bool], met: dict[str, str]
) -> Iterator[tuple[str, str]]:
    """Name and text of a function's bytecode, of the constants it uses, and of its parts in turn."""
    assert isinstance(function, FunctionType)
    full = f"{function.__module__}.{function.__qualname__}"
    if full in met:
        return
    met[full] = text = _bytecode(function.__code__)
    yield full, text
    for name in sorted(_names(function.__code__)):
        if name not in function.__globals__:
            continue
        value = function.__globals__[name]
        inner = getattr(value, "py_func", None)
        if inner is not None and is_part(value):
            yield from _parts(inner, is_part, met)
        elif not isinstance(value, ModuleType):
            yield f"{full}:{name}", _constant(value)


def _bytecode(code: CodeType) -> str:
    constants = [_bytecode(c) if isinstance(c, CodeType) else repr(c) for c in code.co_consts]
    return f"{code.co_code.hex()}{constants}{code.co_names}{code.co_varnames}"


def _names(code: CodeType) -> set[str]:
    inner = (c for c in code.co_consts if isinstance(c, CodeType))
    return set(code.co_names).union(*map(_names, inner))


def _constant(value: object) -> str:
    fields = getattr(value, "_fields", None)
    if fields is not None:
        return f"{value!r}{fields}"
    qualified = getattr(value, "__qualname__", None)
    return f"{type(value)}{getattr(value, '__module__', '')}{qualified}" if qualified else repr(value)


class _Files(CompileResultCacheImpl):
    """Where a function's files lie, and what goes into them: what it is compiled to, and which functions are
    called from there by their address."""

    def get_filename_base(self, fullname: str, abiflags: str) -> str:
        """Without the line that it stands at, so that an edit above leaves it alone."""
        del abiflags
        return str(super().get_filename_base(fullname, "")).replace(f"-{self._lineno}.", ".")

    def reduce(self, result: Any) -> Any:
        return called(result.library), super().reduce(result)

    def rebuild(self, target: Any, kept: Any) -> Any:
        needed, payload = kept
        for module, name, arguments, returns in needed:
            callee = getattr(import_module(module), name)
            try:
                callee.compile(arguments)
            except NumbaError:  # it takes records that have other fields by now
                return None
            if str(callee.overloads[arguments].signature.return_type) != returns:
                return None
        return super().rebuild(target, payload)


NAMED: dict[str, tuple[str, str, Any, str]] = {}
"""Functions that can be called by their address: module, name, types of arguments and of the result."""


def called(library: Any) -> list[tuple[str, str, Any, str]]:
    """Those of ``NAMED`` that compiled code calls."""
    functions = library._final_module.functions
    return [NAMED[f.name] for f in functions if f.is_declaration and f.name.startswith(PREFIX)]


class _Index(IndexDataCacheFile):
    """What lies on disk of one function; what cannot be read, as of a class that has another name by now, is
    not there."""

    def _load_index(self) -> dict[Any, str]:
        try:
            return dict(super()._load_index())
        except (AttributeError, ImportError, EOFError, UnpicklingError):
            return {}

    def holds_any(self) -> bool:
        return bool(self._load_index())


class KeptCode:
    """A function's compiled versions on disk, as a dispatcher asks for them; opened when first asked for."""

    def __init__(self, function: Callable[..., Any], is_part: Callable[[object], bool], options: str) -> None:
        self._function, self._is_part, self._options = function, is_part, options
        self._opened: tuple[_Files, _Index] | None = None

    def _open(self) -> tuple[_Files, _Index]:
        if self._opened is None:
            files = _Files(self._function)
            stamp = digest(self._function, self._is_part, self._options)
            index = _Index(files.locator.get_cache_path(), files.filename_base, stamp)
            self._opened = files, index
        return self._opened

    @property
    def cache_path(self) -> str:
        return str(self._open()[0].locator.get_cache_path())

    def load_overload(self, sig: Any, target: Any) -> Any:
        files, index = self._open()
        target.refresh()
        kept = index.load((sig, target.codegen().magic_tuple()))
        return None if kept is None else files.rebuild(target, kept)

    def save_overload(self, sig: Any, result: Any) -> None:
        files, index = self._open()
        if files.check_cachable(result):
            files.locator.ensure_cache_path()
            index.save((sig, result.codegen.magic_tuple()), files.reduce(result))

    def holds_any(self) -> bool:
        """Whether a version of today's source is on disk."""
        return self._open()[1].holds_any()

    def flush(self) -> None:
        self._open()[1].flush()

    def enable(self) -> None: ...

    def disable(self) -> None: ...
