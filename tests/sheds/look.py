"""Suggest for every shed, draw each before and after, and print a table: no test, something to look at.

    python tests/sheds/look.py OUT [--seconds 20] [--iterations N] [--pitch 0.25] [name ...]

With ``--iterations`` the search counts moves instead of seconds; without ``--pitch`` it takes the usual one.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import footwork
from footwork.scoring import Score

sys.path.insert(0, str(Path(__file__).parent.parent))

from sheds.measures import Shed
from sheds.rules import rules

HERE = Path(__file__).parent
HEAD = "| shed | m today | after | musts failed | after | shoulds failed | after | rules broken | after |"


def failed(score: Score, severity: str) -> list[str]:
    return [c.message for c in score.checks if c.severity == severity and not c.ok]


def look(path: Path, out: Path, args: argparse.Namespace) -> str:
    """One shed: draws, prints what is left to mend, and gives its line of the table."""
    scenario = footwork.load(path)
    before = footwork.score(scenario, "today")
    start = time.process_time()
    try:
        found = footwork.suggest(
            scenario,
            "today",
            seconds=args.seconds,
            iterations=args.iterations,
            pitch=args.pitch,
            seed=args.seed,
        )
    except footwork.FootworkError as error:
        return f"| {path.stem} | {before.metres_per_year:.0f} | none: {'; '.join(error.lines)} |"
    used = time.process_time() - start
    after = found.best
    footwork.draw(scenario, "today", out / f"{path.stem}-before.png", score=before)
    layout = footwork.Layout("suggested", after.placements)
    footwork.draw(scenario, layout, out / f"{path.stem}-after.png", score=after)
    broken = [
        [
            f"{rule.words}: {wrong}"
            for rule in rules(path.stem)
            if (wrong := rule.broken(Shed(scenario, places)))
        ]
        for places in (before.placements, after.placements)
    ]
    for note in found.notes:
        print(f"{path.stem}: {note}", file=sys.stderr)
    for line in (*failed(after, "must"), *failed(after, "should"), *(f"RULE {words}" for words in broken[1])):
        print(f"{path.stem}: {line}", file=sys.stderr)
    print(f"{path.stem}: {used:.1f} s of processor time, {found.spots} spots", file=sys.stderr)
    cells = [path.stem]
    cells += [f"{score.metres_per_year:,.0f}" for score in (before, after)]
    for severity in ("must", "should"):
        cells += [str(len(failed(score, severity))) for score in (before, after)]
    cells += [f"{len(wrong)} of {len(rules(path.stem))}" for wrong in broken]
    return f"| {' | '.join(cells)} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--iterations", type=int)
    parser.add_argument("--pitch", type=float)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    lines = [HEAD, "|---|" + "---|" * 8]
    for path in sorted(HERE.glob("*.toml")):
        if not args.names or path.stem in args.names:
            lines.append(look(path, args.out, args))
            print(lines[-1], file=sys.stderr, flush=True)
    print("\n".join(lines))


if __name__ == "__main__":
    main()
