"""What the starters hold, kind by kind: stations in the order of their use, and three jobs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Stop = str | tuple[int, Sequence["Stop"]]
Route = Sequence[Stop]
"""Names, and (times, route) for a part that is repeated."""

StationRow = tuple[str, str, str, str]
"""Name, catalogue entry, the entry in a small room (or empty), comment."""

JobRow = tuple[str, str, str, Route]
"""Name, times, comment, route."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of starter.  ``room`` and ``car`` (width, length) are in metres."""

    title: str
    room: tuple[float, float]
    stations: tuple[StationRow, ...]
    jobs: tuple[JobRow, ...]
    car: tuple[float, float] | None = None


_METALWORK = Kind(
    "Metal workshop",
    (7.0, 5.0),
    (
        ("bench", "island bench", "workbench", "vice, marking out, filing, putting together"),
        ("rack", "bar rack", "offcut rack", "bars and tubes"),
        ("saw", "metal bandsaw", "metal bandsaw", "cuts them to length"),
        ("drill", "pillar drill", "bench drill", "holes"),
        ("chest", "tool chest", "tool chest", "hand tools, on castors"),
        ("weld", "welding table", "welding bench", "tacking and welding: sparks"),
        ("grinder", "pedestal grinder", "pedestal grinder", "deburring: sparks"),
        ("bins", "bolt bins", "bolt bins", "fasteners"),
        ("lathe", "small lathe", "small lathe", "turned parts"),
        ("shelves", "shelving", "shelving", "paint, parts, machines in boxes"),
        ("folder", "folder", "folder", "sheet"),
        ("compressor", "compressor", "compressor", "air"),
    ),
    (
        (
            "bracket",
            "4 per week",
            "cut, drill, deburr, put together",
            (
                "rack",
                "saw",
                "bench",
                (3, ("drill", "bench")),
                "grinder",
                "weld",
                "bins",
                "bench",
            ),
        ),
        (
            "frame",
            "1 per week",
            "four bars welded to a frame",
            ("rack", (4, ("saw", "bench")), (4, ("weld", "grinder")), "bench", "shelves"),
        ),
        (
            "repair",
            "3 per week",
            "somebody brings something broken",
            ("door:door", "bench", "chest", "bench", "drill", "bench", "lathe", "bins", "bench", "door:door"),
        ),
    ),
)

_WOODWORK = Kind(
    "Wood workshop",
    (7.5, 5.5),
    (
        ("bench", "joinery bench", "workbench", "vices, hand work, fitting"),
        ("timber", "timber rack", "offcut rack", "boards"),
        ("mitre", "mitre saw", "mitre saw", "cuts boards to length"),
        ("saw", "small table saw", "small table saw", "rips and grooves"),
        ("drill", "bench drill", "bench drill", "holes"),
        ("chest", "tool chest", "tool chest", "hand tools, on castors"),
        ("assembly", "assembly table", "", "gluing up, walked round"),
        ("planer", "planer", "planer", "flat faces, straight edges"),
        ("extractor", "dust extractor", "dust extractor", "on castors"),
        ("sander", "sander", "sander", "dust"),
        ("finish", "flammables cabinet", "flammables cabinet", "oil, varnish, thinners"),
        ("thicknesser", "thicknesser", "thicknesser", "even thickness"),
        ("bandsaw", "wood bandsaw", "wood bandsaw", "curves"),
    ),
    (
        (
            "panel",
            "2 per week",
            "boards glued up to a panel",
            (
                "timber",
                (2, ("mitre", "bench")),
                "planer",
                "thicknesser",
                "saw",
                "assembly",
                "bench",
                "sander",
                "assembly",
            ),
        ),
        (
            "box",
            "3 per week",
            "a drawer, a box, a small cupboard",
            (
                "timber",
                "mitre",
                (4, ("saw", "bench")),
                (2, ("drill", "bench")),
                "assembly",
                "finish",
                "bench",
            ),
        ),
        (
            "repair",
            "2 per week",
            "somebody brings a chair",
            (
                "door:door",
                "bench",
                "chest",
                "bench",
                "bandsaw",
                "drill",
                "bench",
                "finish",
                "bench",
                "door:door",
            ),
        ),
    ),
)

_VEHICLE = Kind(
    "Car workshop",
    (8.0, 6.5),
    (
        ("bench", "workbench", "workbench", "vice, parts apart and together"),
        ("chest", "tool chest", "tool chest", "hand tools, on castors"),
        ("shelves", "shelving", "shelving", "parts and filters"),
        ("jack", "jack store", "jack store", "trolley jack and stands"),
        ("drill", "bench drill", "bench drill", "holes"),
        ("oil", "oil store", "oil store", "new and old oil: keep sparks away"),
        ("grinder", "pedestal grinder", "pedestal grinder", "sparks"),
        ("washer", "parts washer", "parts washer", "solvent: keep sparks away"),
        ("press", "hydraulic press", "hydraulic press", "bearings and bushes"),
        ("tyres", "tyre rack", "tyre rack", "the other set of wheels"),
        ("compressor", "compressor", "compressor", "air"),
    ),
    (
        (
            "service",
            "2 per month",
            "oil, filters, a look round",
            (
                "shelves",
                "jack",
                "car",
                "chest",
                "car",
                "oil",
                (3, ("car", "bench")),
                "shelves",
                "jack",
                "chest",
            ),
        ),
        (
            "brakes",
            "1 per month",
            "discs and pads, bushes",
            (
                "jack",
                "car",
                "chest",
                (4, ("car", "bench")),
                "washer",
                "bench",
                "press",
                "car",
                "jack",
                "shelves",
            ),
        ),
        (
            "part",
            "3 per week",
            "a part made or mended at the bench",
            (
                "door:door",
                "shelves",
                "bench",
                "chest",
                (2, ("bench", "drill")),
                "grinder",
                "bench",
                "door:door",
            ),
        ),
    ),
    car=(1.8, 4.5),
)

_MIXED = Kind(
    "Home workshop",
    (8.0, 6.0),
    (
        ("bench", "island bench", "workbench", "vice, everything that is put together"),
        ("rack", "offcut rack", "offcut rack", "short bars and boards"),
        ("drill", "pillar drill", "bench drill", "holes in all there is"),
        ("mitre", "mitre saw", "mitre saw", "boards to length"),
        ("chest", "tool chest", "tool chest", "hand tools, on castors"),
        ("shelves", "shelving", "shelving", "boxes, paint, screws"),
        ("grinder", "pedestal grinder", "pedestal grinder", "sparks"),
        ("electronics", "electronics bench", "electronics bench", "soldering: wants no dust"),
        ("saw", "metal bandsaw", "metal bandsaw", "bars to length"),
        ("timber", "timber rack", "timber rack", "boards"),
        ("sink", "sink", "sink", "water"),
        ("sander", "sander", "sander", "dust"),
        ("lathe", "small lathe", "small lathe", "turned parts"),
    ),
    (
        (
            "shelf",
            "2 per week",
            "something of wood for the house",
            (
                "timber",
                "mitre",
                (3, ("bench", "drill")),
                "sander",
                "bench",
                "shelves",
                "bench",
            ),
        ),
        (
            "holder",
            "2 per week",
            "something of steel",
            ("rack", "saw", (3, ("bench", "drill")), "grinder", "lathe", "bench", "sink"),
        ),
        (
            "repair",
            "4 per week",
            "whatever broke",
            ("door:door", "bench", "chest", "bench", "electronics", "bench", "shelves", "bench", "door:door"),
        ),
    ),
)

KINDS: Mapping[str, Kind] = {
    "metalwork": _METALWORK,
    "woodwork": _WOODWORK,
    "vehicle": _VEHICLE,
    "mixed": _MIXED,
}
