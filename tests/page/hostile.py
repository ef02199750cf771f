"""A shed whose names would break a page that takes them for markup."""

from __future__ import annotations

from show.report_pages import ARABIC, RENAMED, SCRIPT
from show.sheds import CROWDED


def hostile_text() -> str:
    """The crowded shed as a file, with the names that the report is tried with."""
    text = CROWDED.replace('name = "Crowded corner"', f'name = "</title>{SCRIPT} {ARABIC}"')
    for old, new in RENAMED.items():
        for table in ("stations", "vehicles", "jobs"):
            text = text.replace(f"[{table}.{old}]", f'[{table}."{new}"]')
        text = text.replace(f'"{old}"', f'"{new}"').replace(f"\n{old} = ", f'\n"{new}" = ')
        text = text.replace(f" {old} = 4", f' "{new}" = 4')
    return text
