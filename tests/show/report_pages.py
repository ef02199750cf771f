"""Pages for the tests of the report: an ordinary one, one alone, one whose names would break it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from footwork.arrange.core.results import Suggestion
from footwork.model.read import load, loads
from footwork.model.scenario import Scenario, Visit
from footwork.scoring import score
from footwork.show.report.write import report
from footwork.whatif import apply
from show.sheds import CROWDED, busy

SCENARIOS = Path(__file__).parents[2] / "scenarios"

SCRIPT = "<script>alert(1)</script>"
QUOTED = "O'Neil & <b>sons</b> `x`"
HEBREW = "שולחן עבודה"
ARABIC = "طاولة اللحام"
LONG = "an_endless_name_without_any_space_that_goes_on_and_on_and_on"
WIDE = "桌" * 20

RENAMED = {
    "tiny_parts_drawer_with_a_long_name": SCRIPT,
    "another_small_thing": HEBREW,
    "post_drill": QUOTED,
    "corner_table": LONG,
    "barrow": ARABIC,
    "haul": "</style><img src=x onerror=alert(2)>",
    "sort": WIDE,
}


def hostile() -> Scenario:
    """A shed whose names hold markup, quotes, right-to-left and very long text, and a layout to go to."""
    text = CROWDED.replace('name = "Crowded corner"', f'name = "</title>{SCRIPT} {ARABIC} {"x" * 100}"')
    for old, new in RENAMED.items():
        for around in ("[stations.{}]", "[vehicles.{}]", "[jobs.{}]"):
            text = text.replace(around.format(old), around.format(f'"{new}"'))
        text = text.replace(f'"{old}"', f'"{new}"').replace(f"\n{old} = ", f'\n"{new}" = ')
        text = text.replace(f" {old} = 4", f' "{new}" = 4')
    return loads(text)


def found(scenario: Scenario, *moves: str, bound: float = 0.9) -> Suggestion:
    """What a search that found the layout after these moves gives back; ``bound`` is a share of its cost."""
    changed, layout = apply(scenario, "today", *moves)
    best = score(changed, layout)
    return Suggestion(
        scenario=scenario.name,
        base="today",
        base_score=score(scenario, "today"),
        layouts=(best,),
        bound=bound * best.cost,
        spots=1234,
        seconds=3.21,
        seed=7,
        notes=("a remark of the search",),
    )


def crowd() -> Scenario:
    """The busy shed with a job that goes to every station: as large as a chart gets."""
    shed = busy()
    route = tuple(Visit(station.name, "station", (station.name,)) for station in shed.stations)
    round_trip = replace(shed.jobs[0], name="round", times_per_year=5200.0, route=(*route, route[0]))
    return shed.with_(jobs=(*shed.jobs, replace(round_trip, minutes=(), carry=())))


def gate_shed() -> Scenario:
    return load(SCENARIOS / "gate-shed.toml")


def write_pages(folder: Path) -> dict[str, Path]:
    """The pages by name."""
    shed, bad = gate_shed(), hostile()
    pages = {name: folder / f"{name}.html" for name in ("shed", "alone", "hostile", "crowd")}
    report(shed, found(shed, "swap offcuts shear", "move weld by 0.3,0"), pages["shed"])
    report(shed, "today", pages["alone"])
    report(crowd(), "today", pages["crowd"])
    report(bad, found(bad, f'swap "{SCRIPT}" "{HEBREW}"'), pages["hostile"])
    return pages
