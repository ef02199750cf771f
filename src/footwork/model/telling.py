"""How a message is told: one line of a bearable length, with nothing in it that a terminal would obey.

Whatever a message quotes, such as a name, a path, a figure or what an editor left, goes through
``one_line``: the errors of this package do so by themselves (``errors.py``), and so does what prints.
"""

from __future__ import annotations

LONGEST_LINE = 300
"""Letters of a line on stderr: three or four rows of a terminal, still read as one remark."""

LONGEST_WORD = 60
"""Letters of a path, a number or a name that stay in a line which is too long: as many as a name may have."""

BETWEEN = frozenset("\u200c\u200d")
"""What joins two letters, or keeps them apart."""

JOINERS = BETWEEN.union(chr(code) for code in range(0xE0020, 0xE0080))
"""What joins letters and emoji into one sign and cannot be seen by itself: Persian and Indian scripts
cannot be written without the first two, families and flags of emoji not without the others."""


def is_letter(c: str) -> bool:
    """Whether a character may stand in a text as it is: it is seen, or a blank, or joins its neighbours."""
    return c.isprintable() or c in JOINERS


def spelt(text: str) -> str:
    """The text with every character that cannot be seen written as in a TOML string."""
    if text.isprintable():  # nearly every text is, and this is a hundred times as quick
        return text
    return "".join(c if is_letter(c) else c.encode("unicode_escape").decode("ascii") for c in text)


def shortened(text: str, most: int) -> str:
    """At most so many letters: the middle of a longer text gives way to an ellipsis."""
    if len(text) <= most:
        return text
    head = (most - 3) * 2 // 3
    return f"{text[:head]}...{text[len(text) - (most - 3 - head) :]}"


def one_line(text: str, most: int = LONGEST_LINE) -> str:
    """A message on one line of at most ``most`` letters.

    What cannot be seen is spelt.  Of a line that is too long first the longest words are shortened, and
    only then the line itself, in its middle: its ends say what is wrong and what would mend it.
    """
    line = spelt(text)
    if len(line) <= most:
        return line
    return shortened(" ".join(shortened(word, LONGEST_WORD) for word in line.split(" ")), most)
