"""Collecting what is wrong with a file: every problem, once, with its place and line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from footwork.model.errors import Problem
from footwork.model.limits import MOST_PROBLEMS
from footwork.model.lines import KeyPath, line_of
from footwork.model.names import hint, nearest
from footwork.model.schema import Table
from footwork.model.telling import is_letter, spelt
from footwork.model.units import shown

T = TypeVar("T", bound=Table)


class TooManyFaults(Exception):
    """So much is wrong with a file that the rest of it is not looked at."""


class Faults:
    """The problems found so far in one file.

    ``raw`` is the parsed file, ``lines`` the line of each of its keys, ``units`` the unit of its
    bare numbers.
    """

    def __init__(self, raw: Mapping[str, Any], lines: Mapping[KeyPath, int], units: str = "m") -> None:
        self.raw = raw
        self.lines = lines
        self.units = units
        self._found: dict[tuple[str, str], tuple[Problem, int]] = {}

    def add(self, path: KeyPath, what: str, mend: str = "") -> None:
        """Note a problem at ``path``; the same one again is dropped.

        Raises TooManyFaults, which ``read.py`` looks out for, when there are more than may be told.
        """
        where = self.where(path)
        what, mend = spelt(what), spelt(mend)
        if (where, what) in self._found:
            return
        if len(self._found) == MOST_PROBLEMS:
            raise TooManyFaults
        problem = Problem(where, what, mend, line_of(self.lines, path))
        self._found[where, what] = (problem, len(self._found))

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Every problem, in the order of the file's lines."""
        ordered = sorted(self._found.values(), key=lambda item: (item[0].line or 0, item[1]))
        return tuple(problem for problem, _ in ordered)

    def where(self, path: KeyPath) -> str:
        """``stations.bench.size``; a member of a list goes by its name, or its number from 1."""
        text, value = "", self.raw
        for part in path:
            value = _inside(value, part)
            if isinstance(part, int):
                name = value.get("name") if isinstance(value, dict) else None
                text += f".{name}" if isinstance(name, str) and _plain(name) else f"[{part + 1}]"
            else:
                text += f".{part}" if _plain(part) else f".{shown(part)}"
        return text.lstrip(".")

    def read(self, model: type[T], value: Any, path: KeyPath) -> T | None:
        """``value`` as a table of the file, or None after noting what is wrong with it."""
        try:
            return model.model_validate(value, context={"units": self.units})
        except ValidationError as error:
            for item in error.errors(include_url=False):
                self._translate(model, item, path)
            return None

    def table(self, path: KeyPath) -> Mapping[str, Any]:
        """The table at ``path``; empty where there is none, after noting a value that is not one."""
        value = _walk(self.raw, path)
        if value is None or isinstance(value, dict):
            return value or {}
        self.add(path, f"{shown(value)} is not a table", f"write it as [{'.'.join(map(str, path))}]")
        return {}

    def tables(self, path: KeyPath) -> list[tuple[KeyPath, Any]]:
        """The members of the list of tables at ``path``, each with its own path."""
        value = _walk(self.raw, path)
        if isinstance(value, list):
            return [((*path, i), item) for i, item in enumerate(value)]
        if value is not None:
            name = ".".join(map(str, path))
            self.add(path, f"{shown(value)} is not a list of tables", f"write [[{name}]] above each")
        return []

    def unknown_keys(self, path: KeyPath, given: Iterable[str], known: Iterable[str]) -> None:
        """Note every key that is not known."""
        known = tuple(known)
        for key in given:
            if key not in known:
                self.add((*path, key), "unknown key", hint(key, known, "keys here"))

    def _translate(self, model: type[Table], item: Any, path: KeyPath) -> None:
        loc: KeyPath = tuple(item["loc"])
        here = (*path, *loc)
        kind = item["type"]
        context = item.get("ctx", {})
        if kind == "footwork":
            self.add(here, str(context["what"]), str(context["mend"]))
        elif kind == "missing":
            missing = str(loc[-1])
            given = _walk(self.raw, here[:-1])
            meant = nearest(missing, [k for k in given if k not in _keys(model, loc)]) if given else None
            if meant is None:  # otherwise the misspelt key is named as unknown
                self.add(here[:-1], f"'{missing}' is missing", "add it")
        elif kind == "extra_forbidden":
            key = str(loc[-1])
            self.add(here, "unknown key", hint(key, _keys(model, loc), "keys here"))
        elif kind in ("model_type", "dict_type", "model_attributes_type"):
            self.add(here, f"{shown(item['input'])} is not a table", "write it as { key = value }")
        elif kind in ("tuple_type", "list_type"):
            self.add(here, f"{shown(item['input'])} is not a list", "write it as [ ... ]")
        else:
            self.add(here, str(item["msg"]).lower())


def _keys(model: type[Table], loc: KeyPath) -> tuple[str, ...]:
    """The keys known to the table that holds the last part of ``loc``."""
    for part in loc[:-1]:
        if isinstance(part, str):
            model = _table_in(model, part) or model
    return tuple(field.alias or name for name, field in model.model_fields.items())


def _table_in(model: type[Table], key: str) -> type[Table] | None:
    for name, field in model.model_fields.items():
        if (field.alias or name) == key:
            return _first_table(field.annotation)
    return None


def _first_table(annotation: Any) -> type[Table] | None:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _first_table(inner)
        if found is not None:
            return found
    return None


def _plain(name: str) -> bool:
    """Whether a name can be told as it is."""
    return bool(name) and all(map(is_letter, name))


def _walk(value: Any, path: KeyPath) -> Any:
    for part in path:
        value = _inside(value, part)
    return value


def _inside(value: Any, part: str | int) -> Any:
    if isinstance(value, dict):
        return value.get(part)
    if isinstance(value, list) and isinstance(part, int) and part < len(value):
        return value[part]
    return None
