"""The line of each key of a TOML text, for messages.

The text has been read by a real parser before; this scan only notes where things stand, so it
trusts the text to be well formed.
"""

from __future__ import annotations

import bisect
import re
from collections.abc import Iterable, Mapping

KeyPath = tuple[str | int, ...]
"""Where a value stands: keys of tables and 0-based indexes of arrays."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_COMMA = re.compile(r"[ \t]*,")
_REST = re.compile(r"[ \t]*(?:#[^\n]*)?(?=\n)")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_HEADER = re.compile(r"([ \t]*\[+[ \t]*)([^\]]*?)([ \t]*\]+)")
_KEY_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?!")"{0,2}|\'\'\'.*?\'\'\'(?!\')\'{0,2}|"(?:\\.|[^"\\])*"|\'[^\']*\'', re.DOTALL
)


def key_lines(text: str) -> Mapping[KeyPath, int]:
    """Line, from 1, of every table, key and array element of a well-formed TOML text."""
    scan = _Scan(text)
    try:
        scan.document()
    except (
        IndexError,
        AttributeError,
        AssertionError,
        RecursionError,
    ):  # an odd text: messages go without lines
        return {}
    return scan.lines


def without_table(text: str, path: KeyPath) -> str:
    """The text without the ``[table]`` at ``path`` and those in it.

    Comments and blank lines between its last key and the next table stay: they head what follows.
    Where the table has no header of its own, the text comes back as it is.
    """
    scan = _Scan(text)
    scan.document()
    rows = _rows(text)
    ends = [*(line for line, _ in scan.headers[1:]), len(rows) + 1]
    for (start, found), end in reversed(list(zip(scan.headers, ends, strict=False))):
        if found[: len(path)] == path:
            last = end - 1
            while last > start and rows[last - 1].lstrip()[:1] in ("", "#"):
                last -= 1
            gap = last < len(rows) and not rows[last].strip()  # one blank line between what is left
            del rows[start - 1 : last + 1 if gap else last]
    return "".join(rows)


def with_renamed(text: str, path: KeyPath, key: str) -> str:
    """The text with the ``[table]`` at ``path``, and those in it, under another last ``key``, as it is spelt.

    Where the table has no header of its own, the text comes back as it is.
    """
    scan = _Scan(text)
    scan.document()
    rows = _rows(text)
    for line, found in scan.headers:
        if found[: len(path)] == path:
            parts = _HEADER.match(rows[line - 1])
            assert parts is not None
            names = _KEY_PART.findall(parts[2])
            names[len(path) - 1] = key
            rows[line - 1] = f"{parts[1]}{'.'.join(names)}{parts[3]}{rows[line - 1][parts.end() :]}"
    return "".join(rows)


def with_table(text: str, table: str, new: str) -> str:
    """The text with the table ``new`` after the last ``[table.NAME]``, or at its end where there is none."""
    scan = _Scan(text)
    scan.document()
    rows = _rows(text)
    ends = [*(line - 1 for line, _ in scan.headers[1:]), len(rows)]
    own = [end for (_, path), end in zip(scan.headers, ends, strict=False) if path[0] == table]
    last = own[-1] if own else len(rows)
    while last and rows[last - 1].lstrip()[:1] in ("", "#") and own:
        last -= 1
    if last and not rows[last - 1].endswith("\n"):
        rows[last - 1] += "\n"
    blank = ["\n"] if last and rows[last - 1].strip() else []
    return "".join([*rows[:last], *blank, new, *rows[last:]])


def without_elements(text: str, paths: Iterable[KeyPath]) -> str:
    """The text without those elements of arrays; a comment goes only with the one it stands beside alone."""
    scan = _Scan(text)
    scan.document()
    for start, end in sorted((scan.spans[path] for path in paths), reverse=True):
        comma = _COMMA.match(text, end)
        before = text[:start].rstrip(" \t")
        after = text[comma.end() if comma else end :]
        if not comma and before.endswith(","):
            before = before[:-1]
        elif comma and after.lstrip(" \t")[:1] not in ("#", "\n"):
            before, after = text[:start], after.lstrip(" \t")
        alone = _REST.match(after)
        if before.endswith("\n") and alone:  # nothing else in its line
            before, after = before[:-1], after[alone.end() :]
        elif before.endswith("\n"):
            before = text[:start]
        text = before + after
    return text


def _rows(text: str) -> list[str]:
    """The lines with their ends, as TOML counts them."""
    rows = [row + "\n" for row in text.split("\n")]
    rows[-1] = rows[-1][:-1]
    return rows if rows[-1] else rows[:-1]


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int | None:
    """The line of ``path``, or of the nearest table around it."""
    for n in range(len(path), 0, -1):
        if path[:n] in lines:
            return lines[path[:n]]
    return None


class _Scan:
    """One pass over a text; ``lines`` grows as it goes."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self.spans: dict[KeyPath, tuple[int, int]] = {}
        self.headers: list[tuple[int, KeyPath]] = []
        self._ends = [i for i, c in enumerate(text) if c == "\n"]
        self._arrays: dict[KeyPath, int] = {}

    def document(self) -> None:
        table: KeyPath = ()
        self._skip()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip()

    def _header(self) -> KeyPath:
        here = self.at
        array = self.text.startswith("[[", here)
        self.at += 2 if array else 1
        parts = self._key()
        self._skip()
        self.at += 2 if array else 1
        path: KeyPath = ()
        for i, part in enumerate(parts):
            path = (*path, part)
            self._note(path, here)
            if array and i == len(parts) - 1:
                self._arrays[path] = self._arrays.get(path, 0) + 1
            if path in self._arrays:
                path = (*path, self._arrays[path] - 1)
                self._note(path, here)
        self.headers.append((bisect.bisect_left(self._ends, here) + 1, path))
        return path

    def _pair(self, table: KeyPath) -> None:
        here = self.at
        path = table
        for part in self._key():
            path = (*path, part)
            self._note(path, here)
        self._skip()
        self.at += 1  # the equals sign
        self._skip()
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        self._note(path, self.at)
        start = self.at
        first = self.text[start]
        if first in "\"'":
            self._string()
        elif first == "[":
            self.at += 1
            index = 0
            while self._more("]"):
                self._value((*path, index))
                index += 1
        elif first == "{":
            self.at += 1
            while self._more("}"):
                self._pair(path)
        else:
            self.at = _SCALAR.match(self.text, self.at).end()  # type: ignore[union-attr]
        self.spans[path] = (start, self.at)

    def _more(self, close: str) -> bool:
        """Step over spaces and a comma; False, and past it, at the closing bracket."""
        self._skip()
        if self.text[self.at] == ",":
            self.at += 1
            self._skip()
        if self.text[self.at] == close:
            self.at += 1
            return False
        return True

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._skip()
            if self.text[self.at] in "\"'":
                parts.append(self._string())
            else:
                found = _BARE.match(self.text, self.at)
                assert found is not None
                parts.append(found[0])
                self.at = found.end()
            self._skip()
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def _string(self) -> str:
        found = _STRING.match(self.text, self.at)
        self.at = found.end()  # type: ignore[union-attr]
        return found[0].strip("\"'")  # type: ignore[index]

    def _skip(self) -> None:
        self.at = _SPACE.match(self.text, self.at).end()  # type: ignore[union-attr]

    def _note(self, path: KeyPath, at: int) -> None:
        self.lines.setdefault(path, bisect.bisect_left(self._ends, at) + 1)
