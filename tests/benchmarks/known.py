"""How near to the best known a person comes in 10 and 20 s, whatever the seed.

    python tests/benchmarks/known.py [ROOM ...] [--seeds 10] [--pitch 0.5] [--look SECONDS] [--results FILE]

Rooms are the examples, the family of ``rooms.py``, its rooms of up to 60 stations, and thirty that were drawn
by number and never looked at while the search was tuned.  ``best_known.json`` keeps the best layout known of
each and how it was found; it is scored anew, so that a changed check does not leave a wrong figure behind,
and whatever run finds a better one writes it there.  ``--look`` searches that long for better ones first.

Each run is ``suggest`` as a person calls it for 20 s, on every core; what it had after 10 s is read off its
progress, and when a layout better than the file's own stood first.  FILE keeps a line for each run, and what
is there is not run again.  Printed: the median over seeds after 10 s and the worst seed after 20 s in percent
above the best known, and the median gap after 20 s.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE)]

import rooms  # noqa: E402

import footwork  # noqa: E402
from footwork.model.scenario import Layout, Placement, Scenario  # noqa: E402

SCENARIOS = HERE.parents[1] / "scenarios"
KNOWN = HERE / "best_known.json"
EXAMPLES = ("frame-nook", "gate-shed", "cabinet-garage", "makerspace")
USUAL = (
    *EXAMPLES,
    *(spec.name for spec in (*rooms.FAMILY, *rooms.LARGER, *rooms.UNSEEN)),
    *(spec.name for spec in rooms.GROWTH if spec.stations <= 60),
)
AFTER, IN_ALL = 10.0, 20.0
"""Seconds: what a run had by then, and what it is given."""
Known = dict[str, dict[str, Any]]
Run = dict[str, Any]


def scenario_of(name: str) -> Scenario:
    return footwork.load(SCENARIOS / f"{name}.toml") if name in EXAMPLES else rooms.room(name)


def known_cost(scenario: Scenario, known: Known) -> float:
    """What the best known layout costs by today's checks; infinite where there is none that is sound."""
    entry = known.get(scenario.name)
    if entry is None:
        return math.inf
    placements = {name: Placement(*at) for name, at in entry["placements"].items()}
    score = footwork.score(scenario, Layout("best known", placements))
    return score.cost if score.ok else math.inf


def search(name: str, seconds: float, seed: int, pitch: float | None, known: Known) -> Run:
    """One run; a layout better than the best known is kept."""
    scenario, soon, first = scenario_of(name), math.inf, None
    base = footwork.score(scenario).cost if scenario.layouts else math.inf

    def see(progress: footwork.Progress) -> None:
        nonlocal soon, first
        if first is None and progress.best < base * (1.0 - 1e-9):
            first = progress.seconds
        if progress.seconds <= AFTER:
            soon = min(soon, progress.best)

    try:
        found = footwork.suggest(scenario, seconds=seconds, seed=seed, pitch=pitch, progress=see)
    except footwork.FootworkError as error:
        return {"room": name, "seed": seed, "why": str(error)}
    best = found.best
    if best.cost < known_cost(scenario, known) - 1e-6:
        placements = {thing: [at.x, at.y, at.facing] for thing, at in sorted(best.placements.items())}
        how = f"suggest for {seconds:g} s, seed {seed}, {found.spots:,} spots"
        known[scenario.name] = {"cost": round(best.cost, 1), "how": how, "placements": placements}
        keep(known)
    gap = 0.0 if found.status == "proven" else found.gap
    return {"room": name, "seed": seed, "soon": soon, "cost": best.cost, "gap": gap, "first": first}


def keep(known: Known) -> None:
    """Write what is known, a line a room."""
    lines = (f" {json.dumps(name)}: {json.dumps(entry)}" for name, entry in sorted(known.items()))
    KNOWN.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def row(name: str, runs: Sequence[Run], known: Known) -> str:
    scenario = scenario_of(name)
    best, found = known_cost(scenario, known), [run for run in runs if "cost" in run]
    line = f"{name:16}{len(scenario.stations):9}{best:13,.0f}"
    if not found:
        return line + "  no layout found"
    soon = max(0.0, median(run["soon"] / best - 1.0 for run in found))
    worst = max(run["cost"] / best - 1.0 for run in found)
    after = "-" if math.isinf(soon) else f"{soon:.1%}"
    return f"{line}{after:>9}{worst:9.1%}{median(run['gap'] for run in found):9.1%}{len(found):6}/{len(runs)}"


def loaded(path: Path) -> list[Run]:
    return (
        [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] if path.exists() else []
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("rooms", nargs="*", default=USUAL)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--pitch", type=float)
    parser.add_argument("--look", type=float, default=0.0, metavar="SECONDS")
    parser.add_argument("--results", type=Path, default=Path("known.jsonl"))
    options = parser.parse_args()
    unknown = [name for name in options.rooms if name not in EXAMPLES and name not in rooms.ROOMS]
    if unknown:
        parser.error(f"no room {', '.join(unknown)}; there are {', '.join((*EXAMPLES, *rooms.ROOMS))}")
    known: Known = json.loads(KNOWN.read_text(encoding="utf-8")) if KNOWN.exists() else {}
    done = loaded(options.results)
    for name in options.rooms:
        if options.look:
            search(name, options.look, 99, options.pitch, known)
        for seed in range(1, options.seeds + 1):
            if not any(run["room"] == name and run["seed"] == seed for run in done):
                done.append(search(name, IN_ALL, seed, options.pitch, known))
                with options.results.open("a", encoding="utf-8") as out:
                    out.write(json.dumps(done[-1]) + "\n")
    print(f"{'room':16}{'stations':>9}{'best known':>13}{'10 s':>9}{'worst':>9}{'gap':>9}{'found':>9}")
    for name in options.rooms:
        print(row(name, [run for run in done if run["room"] == name], known), flush=True)


if __name__ == "__main__":
    main()
