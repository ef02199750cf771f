"""Writing a tree of values as TOML, odd ones as they come."""

from __future__ import annotations

import json
from typing import Any


class Raw(str):
    """Text that goes into the file as it is."""


def text_of(tree: dict[str, Any]) -> str:
    """The tree as a TOML text: one row for each key at the top, everything below it inline."""
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in tree.items())


def _key(key: str) -> str:
    return _string(key)


def _string(text: str) -> str:
    """A string with the escapes of JSON; half characters stay as they are, which no file may hold."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: Any) -> str:
    if isinstance(value, Raw):
        return str(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _string(value)
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{_key(k)} = {_value(v)}' for k, v in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    return repr(value)
