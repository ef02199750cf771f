"""A dxf is opened again by ezdxf: without faults, full size, in the file's units, one layer a kind."""

from __future__ import annotations

import functools
import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover
from ezdxf.document import Drawing as Document

from footwork.floor.shapes import footprint, strips
from footwork.model.read import load
from footwork.model.scenario import Scenario
from footwork.show.draw import compose, draw
from footwork.show.dxf import LAYERS, write_dxf
from show.sheds import crowded
from show.test_plans import handed_on

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def opened(scenario: Scenario, **way: Any) -> Document:
    """Drawn, written, and read again."""
    file = io.BytesIO()
    write_dxf(compose(scenario, scenario.layouts[0], **way), file)
    return ezdxf.read(io.StringIO(file.getvalue().decode("utf-8")))


@functools.cache
def example(name: str) -> tuple[Scenario, Document]:
    """An example and its dxf, with the route of its first job."""
    scenario = load(SCENARIOS / f"{name}.toml")
    return scenario, opened(scenario, job=scenario.jobs[0].name)


def rings(doc: Document, layer: str) -> list[shapely.Polygon]:
    found = doc.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    return [shapely.Polygon([p[:2] for p in line.get_points()]) for line in found if line.closed]


WAYS: dict[str, dict[str, Any]] = {
    "plain": {},
    "job": {"job": "sort"},
    "over": {"job": "haul", "walking": True, "standing": True},
    "moves": {"before": handed_on(crowded())},
}


@pytest.mark.parametrize("way", WAYS)
def test_audit_finds_nothing(way: str, tmp_path: Path) -> None:
    draw(crowded(), "today", tmp_path / "plan.dxf", **WAYS[way])
    doc, auditor = recover.readfile(tmp_path / "plan.dxf")  # reads with suspicion, and audits
    assert (auditor.errors, auditor.fixes) == ([], [])
    again = ezdxf.readfile(tmp_path / "plan.dxf").audit()
    assert (again.errors, again.fixes) == ([], [])
    assert doc.dxfversion == "AC1024"


@pytest.mark.parametrize(
    ("file", "units", "measurement", "metres"),
    [("gate-shed", 6, 1, 1.0), ("frame-nook", 6, 1, 1.0), ("cabinet-garage", 1, 0, 0.0254)],
)
def test_full_size_in_metres_or_inches(file: str, units: int, measurement: int, metres: float) -> None:
    scenario, doc = example(file)
    assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (units, measurement)
    layout = scenario.layouts[0]
    drawn = rings(doc, "STATIONS")
    assert len(drawn) == len(scenario.stations)
    for station, ring in zip(scenario.stations, drawn, strict=True):
        true = footprint(station, layout.placements[station.name])
        assert np.allclose(np.array(ring.exterior.coords)[:-1] * metres, true, atol=1e-6)
    wanted = [s.polygon for t in scenario.stations for s in strips(t, layout.placements[t.name])]
    for true, ring in zip(wanted, rings(doc, "STANDING-STRIPS"), strict=True):
        assert np.allclose(np.array(ring.exterior.coords)[:-1] * metres, true, atol=1e-6)


def test_the_floor_inside_the_walls_is_the_room() -> None:
    _, doc = example("gate-shed")
    walls = shapely.union_all(rings(doc, "WALLS"))
    assert walls.bounds == pytest.approx((-0.1, -0.1, 10.1, 7.1))
    assert shapely.box(0.001, 0.001, 9.999, 6.999).intersection(walls).area == 0


def test_layers_are_by_kind_and_none_is_empty() -> None:
    _, doc = example("gate-shed")
    names = {layer.dxf.name for layer in doc.layers} - {"0", "Defpoints"}
    used = {entity.dxf.layer for entity in doc.modelspace()}
    assert names == used
    assert used <= {layer.name for layer in LAYERS}
    assert used >= {
        "WALLS", "DOORS", "DOOR-SWINGS", "WINDOWS", "YARDS", "FIXTURES", "KEEP-CLEAR", "STATIONS", "FRONTS",
        "STANDING-STRIPS", "SERVICE-STRIPS", "STOCK-STRIPS", "VEHICLES", "NAMES", "DIMENSIONS", "ROUTE",
    }  # fmt: skip
    lines = {layer.dxf.linetype for layer in doc.layers}
    assert lines <= {line.dxf.name for line in doc.linetypes}


def test_a_swing_is_a_true_arc() -> None:
    scenario, doc = example("gate-shed")
    (arc,) = doc.modelspace().query("ARC")
    door = scenario.room.door("side")
    assert arc.dxf.radius == pytest.approx(door.width)
    assert (arc.dxf.end_angle - arc.dxf.start_angle) % 360 == pytest.approx(90)
    ends = {tuple(round(v, 6) for v in (p.x, p.y)) for p in (arc.start_point, arc.end_point)}
    shut, hinge = np.array(door.end), np.array(door.start)
    leaf = hinge + door.width * np.array(door.inward)
    assert ends == {tuple(shut.round(6)), tuple(leaf.round(6))}


def test_dimensions_say_what_they_measure() -> None:
    for file, told in (("gate-shed", {"10.00 m", "7.00 m"}), ("cabinet-garage", {"22' 0\"", "20' 0\""})):
        scenario, doc = example(file)
        found = list(doc.modelspace().query("DIMENSION"))
        assert {d.dxf.text for d in found} == told
        scale = 0.0254 if file == "cabinet-garage" else 1.0
        room = scenario.room.size
        assert room is not None
        measured = sorted(d.get_measurement() * scale for d in found)
        assert measured == pytest.approx(sorted(room))


def test_names_stand_where_the_sheet_has_them() -> None:
    scenario = crowded()
    drawing = compose(scenario, "today")
    doc = opened(scenario)
    texts = {t.dxf.text: t for t in doc.modelspace().query('TEXT[layer=="NAMES"]')}
    for label in drawing.labels:
        for line in label.lines:
            assert line in texts
    bench = texts["bench"]
    where = shapely.Point(bench.get_placement()[1].x, bench.get_placement()[1].y)
    assert shapely.Polygon(
        footprint(scenario.station("bench"), scenario.layouts[0].placements["bench"])
    ).covers(where)
    # 8.5 points at the sheet's scale, of which a capital takes 72 in the hundred
    assert bench.dxf.height * drawing.sheet.factor == pytest.approx(0.72 * 8.5 * 25.4 / 72, abs=1e-6)


def test_the_route_is_as_wide_as_it_is_often_walked() -> None:
    tracks = example("gate-shed")[1].modelspace().query('LWPOLYLINE[layer=="ROUTE"]')
    assert len({round(track.dxf.const_width, 4) for track in tracks}) > 1


def test_walking_lies_under_all_else_on_layers_that_say_how_often() -> None:
    doc = opened(crowded(), walking=True)
    layers = [entity.dxf.layer for entity in doc.modelspace()]
    ways = [name for name in layers if name.startswith("WALKING-")]
    assert layers[: len(ways)] == ways
    assert "WALKING-OVER-500-A-YEAR" in ways


def test_codes_in_a_name_stay_text() -> None:
    scenario = crowded()
    odd = replace(scenario.station("bench"), name="50%%d ^I")
    others = tuple(s for s in scenario.stations if s.name != "bench")
    layout = scenario.layouts[0]
    places = {k if k != "bench" else odd.name: v for k, v in layout.placements.items()}
    renamed = scenario.with_(stations=(odd, *others), jobs=(), layouts=(replace(layout, placements=places),))
    texts = [t.dxf.text for t in opened(renamed).modelspace().query('TEXT[layer=="NAMES"]')]
    assert "50%%%%%%d ^ I" in texts  # DXF reference: %%% is a percent sign, a caret and a space a caret
