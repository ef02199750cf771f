"""The catalogue: every entry is a station as the file's reader takes it, and says where it is from."""

from __future__ import annotations

import re

import pytest

import footwork
from footwork.floor.headroom import fits_below, overhead
from footwork.model.catalogue import CATALOGUE, CatalogueEntry, Sourced, called, entry
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.read import loads
from footwork.model.scenario import Station

ENTRIES = list(CATALOGUE.values())


def read(like: str, *keys: str, units: str = "m") -> Station:
    rows = "\n".join(keys)
    text = f"units = '{units}'\n[room]\nsize = ['30 m', '20 m']\n[stations.a]\nlike = \"{like}\"\n{rows}"
    return loads(text).stations[0]


def test_some_forty_stations_of_every_trade() -> None:
    assert len(ENTRIES) >= 40
    assert {e.trade for e in ENTRIES} == {"every trade", "metalwork", "woodwork", "vehicle work"}
    spelt = {name: name.replace("CNC ", "cnc ") for name in CATALOGUE}
    assert all(name == e.name and spelt[name].islower() for name, e in CATALOGUE.items())


@pytest.mark.parametrize("each", ENTRIES, ids=lambda e: e.name)
def test_an_entry_is_a_station(each: CatalogueEntry) -> None:
    station = read(each.name)
    keys = each.keys()
    assert (station.like, station.size) == (each.name, tuple(keys["size"]))
    lengths = ("strip", "height", "work_height", "ignition_height", "lead", "from_floor", "reach")
    for key in (*lengths, "placing", "along", "castors", "weight", "work", "shield"):
        if key in keys:
            assert getattr(station, key) == keys[key]
    for key in ("stand", "gives", "minds", "holds", "needs"):
        if key in keys:
            assert getattr(station, key) == tuple(keys[key])
    for height in (station.work_height, station.ignition_height):
        if height is not None and station.height is not None:
            assert height <= station.height


@pytest.mark.parametrize("each", ENTRIES, ids=lambda e: e.name)
def test_an_entry_says_where_it_is_from(each: CatalogueEntry) -> None:
    for key, sourced in each.values.items():
        assert isinstance(sourced, Sourced)
        assert re.fullmatch(r"common practice|published: .{10,}", sourced.source), key
    told = each.to_dict()
    assert told.pop("name") == each.name
    assert told.pop("also") == list(each.also)
    assert all(set(value) == {"value", "source"} for value in told.values())
    assert each.note
    assert "\n" not in each.note


@pytest.mark.parametrize("each", ENTRIES, ids=lambda e: e.name)
def test_an_entry_can_stand(each: CatalogueEntry) -> None:
    """Alone in a large room there is a spot for it, with every check passed."""
    text = f"""
        [room]
        size = [9, 8]
        doors = [{{ name = "door", wall = "south", from = 1, width = 1 }}]
        [stations.a]
        like = "{each.name}"
        [stations.b]
        size = [0.5, 0.5]
        [jobs.visit]
        times = 1
        route = ["{"b" if each.keys().get("stand") == [] else "a"}", "door:door"]"""
    found = footwork.suggest(loads(text), iterations=5, pitch=1.0, processes=1)
    assert [check.id for check in found.layouts[0].checks if not check.ok] == []


def test_a_wall_cabinet_hangs_over_the_usual_benches_and_a_ceiling_rack_over_people() -> None:
    cabinet, rack = read("wall cabinet"), read("ceiling rack")
    for bench in ("workbench", "long bench", "electronics bench"):
        usual = read(bench)
        assert fits_below(usual, cabinet)
        assert cabinet.size[1] + cabinet.reach >= usual.size[1] - 1e-9  # one stands before the bench
    assert overhead(rack)
    assert not overhead(cabinet)


def test_machines_that_need_nothing_from_behind_go_back_to_a_wall() -> None:
    """Common practice: at least what no sheet, board or person comes behind, less what is rolled about."""
    for name in ("pillar drill", "pedestal grinder", "compressor", "planer", "sander", "dust extractor"):
        assert entry(name).keys()["placing"] == "wall"
    for each in ENTRIES:
        keys = each.keys()
        if keys.get("placing") == "wall":
            behind = ("back" in keys.get(part, ()) for part in ("stand", "service", "stock"))
            assert not any(behind), each.name


def test_what_makes_and_what_minds() -> None:
    """The trade's own: where sparks, dust and vapour come from, and what is never put beside them."""
    gives = {name: set(each.keys().get("gives", ())) for name, each in CATALOGUE.items()}
    minds = {name: set(each.keys().get("minds", ())) for name, each in CATALOGUE.items()}
    for name in ("pedestal grinder", "belt linisher", "abrasive cut-off saw", "plasma cutter", "forge"):
        assert "sparks" in gives[name], name
    for name in ("table saw", "planer", "thicknesser", "sander", "wood bandsaw", "mitre saw", "router table"):
        assert "dust" in gives[name], name
    stores = {name for name in CATALOGUE if "flammable" in minds[name]}
    assert stores == {
        "flammables cabinet", "oily rag bin", "spray booth", "oxy-fuel trolley", "fuel gas bottles",
        "parts washer", "oil store",
    }  # fmt: skip
    assert all({"sparks", "heat"} <= minds[name] for name in stores)
    # fine work and open bearings keep away from dust
    for name in ("electronics bench", "metal lathe", "milling machine", "engine stand", "drying rack"):
        assert "dust" in minds[name], name


def test_figures_of_a_published_source() -> None:
    """HSE, Health and Safety at Work booklet 41 (1970): 3 ft on the free sides of a woodworking machine."""
    strip = entry("table saw").values["strip"]
    assert strip.value == pytest.approx(3 * 0.3048, abs=1e-3)
    assert "booklet 41" in strip.source
    # a full sheet at a table saw: 8 ft before and behind, 6 ft beside (common practice)
    sheet = entry("table saw").keys()["stock"]
    eight, six = pytest.approx(8 * 0.3048, abs=0.01), pytest.approx(6 * 0.3048, abs=0.01)
    assert (sheet["front"], sheet["back"], sheet["left"]) == (eight, eight, six)


def test_keys_below_like_win_each_as_a_whole() -> None:
    drill = read("pillar drill")
    own = read("pillar drill", "size = [2, 1]", "stock = { left = 4 }", "castors = true", units="ft")
    assert own.size == pytest.approx((0.6096, 0.3048))
    assert own.stock is not None
    assert (own.stock.left, own.stock.right, own.stock.width) == (pytest.approx(1.2192), 0.0, None)
    assert own.castors
    assert (own.height, own.work_height, own.placing) == (drill.height, drill.work_height, drill.placing)


def test_an_outline_takes_the_place_of_the_size() -> None:
    own = read("pillar drill", "outline = [[-0.5, -0.4], [0.5, -0.4], [0, 0.4]]")
    assert own.size == pytest.approx((1.0, 0.8))
    assert len(own.outline) == 3


def test_an_entry_by_name() -> None:
    assert entry("sink").name == "sink"
    with pytest.raises(UsageError, match="'lathe bunk' is not in the catalogue; "):
        entry("lathe bunk")


@pytest.mark.parametrize(
    ("said", "names"),
    [
        ("drill press", {"pillar drill"}),
        ("benchtop drill press", {"bench drill"}),
        ("jointer", {"planer"}),
        ("thickness planer", {"thicknesser"}),
        ("chop saw", {"mitre saw", "abrasive cut-off saw"}),
        ("miter saw", {"mitre saw"}),
        ("bench grinder", {"pedestal grinder"}),
        ("paint cabinet", {"flammables cabinet"}),
        ("bandsaw", {"metal bandsaw", "wood bandsaw"}),
        ("Band Saw", {"metal bandsaw", "wood bandsaw"}),
        ("vise", {"vice stand"}),
        ("drill", {"pillar drill", "bench drill"}),
        ("dust collector", {"dust extractor"}),
        ("shaper", {"spindle moulder"}),
        ("tire changer", {"tyre changer"}),
        ("air compressor", {"compressor"}),
        ("tool box", {"tool chest"}),
        ("lumber rack", {"timber rack"}),
        ("bike stand", {"bicycle stand"}),
        ("PILLAR-DRILL", {"pillar drill"}),
        ("saw press", set()),
    ],
)
def test_what_people_say(said: str, names: set[str]) -> None:
    assert {e.name for e in called(said)} == names


def test_every_entry_has_other_names_and_none_hides_an_entry() -> None:
    own = {name.replace(" ", "").replace("-", "").lower() for name in CATALOGUE}
    for each in ENTRIES:
        assert each.also, each.name
        assert len(set(each.also)) == len(each.also), each.name
        folded = {name.replace(" ", "").replace("-", "").lower() for name in each.also}
        assert not folded & own, each.name  # an entry's own name would win over it


def test_like_takes_what_people_say() -> None:
    """The station is that of the entry, by whatever name."""
    said, known = read("drill press"), read("pillar drill")
    assert said.like == "pillar drill"
    assert (said.size, said.stock, said.needs) == (known.size, known.stock, known.needs)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "bandsaw",
            "'bandsaw' is a name of several in the catalogue; write 'metal bandsaw' or 'wood bandsaw'",
        ),
        ("turning", "'turning' is not in the catalogue; write 'metal lathe' or 'wood lathe'"),
        ("joiner", "'joiner' is not in the catalogue; did you mean 'jointer'?"),
    ],
)
def test_a_name_of_several_asks_which(said: str, told: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        read(said)
    assert str(caught.value) == f"line 5: stations.a.like: {told}"


def test_who_needs_a_socket_or_a_tap_and_what_burns() -> None:
    """Common practice: what has a motor, a heater or electronics needs a socket; hand tools need none."""
    needs = {name: set(each.keys().get("needs", ())) for name, each in CATALOGUE.items()}
    for name in ("pillar drill", "table saw", "welder", "compressor", "dust extractor", "electronics bench"):
        assert needs[name] == {"socket"}, name
    for name in ("workbench", "anvil", "vice stand", "folder", "guillotine shear", "shelving", "tool chest"):
        assert needs[name] == set(), name
    assert {name for name in CATALOGUE if "tap" in needs[name]} == {"sink"}
    burns = {name for name, each in CATALOGUE.items() if "combustible" in each.keys().get("minds", ())}
    assert burns == {
        "timber rack", "sheet rack", "offcut rack", "waste bin", "oily rag bin", "dust extractor",
        "tyre rack",
    }  # fmt: skip
    assert all(
        e.values[key].source == "common practice"
        for e in ENTRIES
        for key in ("needs", "lead")
        if key in e.values
    )
