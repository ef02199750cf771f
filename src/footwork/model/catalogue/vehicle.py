"""Stations of vehicle work."""

from __future__ import annotations

from footwork.model.catalogue.entry import CatalogueEntry, entries

VEHICLE: tuple[CatalogueEntry, ...] = entries(
    "vehicle work",
    {
        "tyre changer": {
            "note": "machine for changing tyres",
            "size": [1.0, 1.1],
            "placing": "wall",
            "height": 1.9,
            "weight": 230,
            "gives": ["noise"],
        },
        "wheel balancer": {
            "note": "machine for balancing wheels, hood up",
            "size": [1.0, 0.8],
            "placing": "wall",
            "height": 1.4,
            "weight": 110,
            "minds": ["dust"],
        },
        "tyre rack": {
            "note": "wheels on two rails",
            "size": [1.6, 0.5],
            "placing": "wall",
            "along": True,
            "height": 1.8,
            "minds": ["sparks", "flammable"],
        },
        "engine stand": {
            "note": "engine on a turning head, on castors",
            "size": [0.9, 0.9],
            "stand": ["front", "left", "right"],
            "height": 1.1,
            "castors": True,
            "weight": 200,
            "minds": ["dust", "sparks"],
        },
        "engine hoist": {
            "note": "folding crane on castors, parked folded",
            "size": [0.7, 0.7],
            "placing": "wall",
            "strip": 0.6,
            "height": 1.6,
            "castors": True,
            "weight": 80,
        },
        "jack store": {
            "note": "trolley jack, stands and ramps, parked",
            "size": [0.8, 0.7],
            "placing": "wall",
            "strip": 0.6,
            "height": 0.6,
            "castors": True,
        },
        "parts washer": {
            "note": "tank with solvent and a lid",
            "size": [0.9, 0.6],
            "placing": "wall",
            "height": 1.1,
            "weight": 60,
            "gives": ["fumes"],
            "minds": ["sparks", "heat", "flammable"],
        },
        "oil store": {
            "note": "drums of new and old oil over a tray",
            "size": [1.2, 0.7],
            "placing": "wall",
            "height": 1.2,
            "minds": ["sparks", "heat", "flammable"],
        },
        "battery bench": {
            "note": "shelf for batteries on charge, with air about it",
            "size": [0.8, 0.5],
            "placing": "wall",
            "height": 1.0,
            "gives": ["fumes"],
            "minds": ["sparks"],
        },
    },
)
