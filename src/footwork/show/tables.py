"""Results as text: one function a table, each takes a result and a rich console.

Plain aligned text without colour when the console is no terminal.  Where ``scenario`` is given, lengths
on the floor (gaps, places, legs) are in its units; walking a year is in metres in every case.
"""

from __future__ import annotations

from footwork.show.change_tables import change
from footwork.show.lists import catalogue, entry, matches, problems, rules
from footwork.show.score_tables import checks, compare, failed, score
from footwork.show.suggest_tables import suggestion
from footwork.show.walk_words import walk
from footwork.show.where_tables import where

__all__ = [
    "catalogue",
    "change",
    "checks",
    "compare",
    "entry",
    "failed",
    "matches",
    "problems",
    "rules",
    "score",
    "suggestion",
    "walk",
    "where",
]
