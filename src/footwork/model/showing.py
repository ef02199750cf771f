"""How results show themselves in a notebook, without knowing who draws them.

Notebooks ask an object for ``_repr_html_``.  The rooms in which results are made know nothing of how
things look; so a result only passes the question on to a maker, which the package itself hands in from
``show/`` when one of its names is first used (``footwork/__init__.py``).
"""

from __future__ import annotations

from collections.abc import Callable

Maker = Callable[[object], str | None]

_makers: list[Maker] = []


def show_with(maker: Maker) -> None:
    """Let ``maker`` write the HTML of results from now on."""
    _makers[:] = [maker]


class Shown:
    """A result that shows itself in a notebook; its plain ``repr`` where nobody is there to draw it."""

    __slots__ = ()

    def _repr_html_(self) -> str | None:
        return _makers[0](self) if _makers else None
