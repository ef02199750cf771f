"""What a person would say about each shed, beside its file: the words, and how a tape would tell.

``today`` keeps some of them and breaks others, as sheds do; what is suggested has to keep them all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sheds.measures import (
    Measure,
    Shed,
    along_the_room,
    apart,
    backs_on_solid_wall,
    before_panel,
    clear_beside,
    doors_open,
    driver_gets_out,
    drives_straight_in,
    grabbed,
    light,
    long_stock,
    near,
    near_door,
    nothing_before,
    nothing_in_anything,
    one_can_stand_at_everything,
    parked_free,
    reached,
    room_round,
    screened,
    supply_near,
    turning_circle,
    under_window,
)


@dataclass(frozen=True)
class Rule:
    """A rule in the words of the person whose shed it is."""

    words: str
    measure: Measure

    def broken(self, shed: Shed) -> str | None:
        return self.measure(shed)


EVERY_SHED = (
    Rule("nothing stands in anything else, nor in a wall", nothing_in_anything),
    Rule("what stands at a wall has wall behind it, not a door", backs_on_solid_wall),
    Rule("one can stand at everything", one_can_stand_at_everything),
    Rule("doors open, and one can step in", doors_open),
)

OF_ONE: Mapping[str, tuple[Rule, ...]] = {
    "single-garage": (
        Rule(
            "nothing that doesn't roll before the up-and-over door", nothing_before("up-and-over", 1.2, True)
        ),
        Rule("the car drives straight in", drives_straight_in("car")),
        Rule("a hand's breadth round the car", room_round("car")),
        Rule("the driver can get out, and into the house", driver_gets_out("car", "house")),
        Rule("supper comes out of the freezer with the car in", reached("house", 0.6, "freezer")),
        Rule("paint not beside the boiler", apart("paint", "boiler", 0.45)),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "house")),
        Rule("the drill within 3 m of the bench", near("drill", "bench", 3.0)),
        Rule("the freezer on its own lead", supply_near("socket", 3.0, "freezer", "drill")),
    ),
    "two-bay-woodwork": (
        Rule("nothing that doesn't roll before either door", nothing_before("car door", 1.2, True)),
        Rule("nor before the east one", nothing_before("east door", 1.2, True)),
        Rule("the car drives straight in", drives_straight_in("car")),
        Rule("the driver can get out, and into the house", driver_gets_out("car", "house")),
        Rule("the panel can be worked at", before_panel("panel")),
        Rule("finish not beside the water heater", apart("finish", "water-heater", 0.45)),
        Rule("lumber not beside the water heater", apart("rack", "water-heater", 0.45)),
        Rule("bench under the window", under_window("bench", "window")),
        Rule("nothing tall before the window", light("window")),
        Rule("six feet left of the chop saw", long_stock("chop-saw", "left", 1.83)),
        Rule("the planer's corner is free", parked_free("planer")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "house")),
    ),
    "three-bay-mechanic": (
        Rule("nothing before bay one", nothing_before("bay one", 1.2, True)),
        Rule("nothing before bay two", nothing_before("bay two", 1.2, True)),
        Rule("nothing before bay three", nothing_before("bay three", 1.2, True)),
        Rule("the saloon's driver can get out", driver_gets_out("saloon", "side")),
        Rule("the wagon's driver can get out", driver_gets_out("wagon", "side")),
        Rule("the work drives straight in", drives_straight_in("work")),
        Rule("oil not beside the furnace", apart("oil", "furnace", 0.45)),
        Rule("the washer's solvent not beside the furnace", apart("washer", "furnace", 0.45)),
        Rule("the panel can be worked at", before_panel("panel")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "side")),
        Rule("bench within 5 m of the car on the work bay", near("bench", "work", 5.0)),
        Rule("nothing tall before the north light", light("north light")),
    ),
    "lean-to-metal": (
        Rule("nothing before the double door", nothing_before("double", 0.9)),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "double")),
        Rule("nothing tall before the long window", light("long-window")),
        Rule("six feet of bar left of the saw", long_stock("saw", "left", 1.8)),
        Rule("the drill within 3 m of the bench", near("drill", "bench", 3.0)),
        Rule("no cupboard over the welding", apart("wall-cabinet", "weld", 0.5)),
        Rule("the welder's cable reaches the welding bench", near("welder", "weld", 3.0)),
        Rule("grinder and welder on a lead", supply_near("socket", 3.0, "grinder", "drill", "saw")),
    ),
    "fitter": (
        Rule("nothing in the entrance", nothing_before("entrance", 0.9)),
        Rule("lathe on the three-phase supply", near("lathe", "three-phase", 2.5)),
        Rule("mill on the three-phase supply", near("mill", "three-phase", 3.0)),
        Rule("bench under the window", under_window("bench", "south-window")),
        Rule("nothing tall before the window", light("south-window")),
        Rule("the panel can be worked at", before_panel("panel")),
        Rule("grinding dust not on the surface plate", apart("grinder", "surface-plate", 1.5)),
        Rule("grinding dust not on the lathe", apart("grinder", "lathe", 1.5)),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "entrance")),
        Rule("the drill within 3 m of the bench", near("drill", "bench", 3.0)),
    ),
    "bike-kitchen": (
        Rule("nothing before the street door", nothing_before("street", 0.9)),
        Rule("nothing before the yard door", nothing_before("yard", 0.9)),
        Rule(
            "a bicycle can be wheeled to every stand", reached("street", 0.9, "stand-1", "stand-2", "stand-3")
        ),
        Rule("sink by the tap", supply_near("tap", 1.5, "sink")),
        Rule("solvent not beside the heater", apart("washer", "heater", 0.45)),
        Rule("tyres not beside the heater", apart("tubes", "heater", 0.45)),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "street")),
        Rule("the panel can be worked at", before_panel("panel")),
        Rule("wheels are trued under the window", under_window("truing", "north-window")),
        Rule("nothing tall before the window", light("north-window")),
    ),
    "bicycle-hut": (
        Rule("nothing before the door", nothing_before("door", 0.9)),
        Rule("a bicycle comes out of the rack and out of the door", reached("door", 0.7, "bikes")),
        Rule("the charger on its lead", supply_near("socket", 3.0, "charger")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "door", 0.55)),
        Rule("nothing tall before the window", light("window")),
        Rule("the stand folds away where it is parked", parked_free("stand")),
        Rule("oily rags not beside the charger", apart("rags", "charger", 0.5)),
    ),
    "potters": (
        Rule("nothing in the door", nothing_before("door", 0.9)),
        Rule("kiln by its own supply", near("kiln", "kiln-supply", 1.5)),
        Rule("cartons well away from the kiln", apart("cartons", "kiln", 1.0)),
        Rule("sink by the tap", supply_near("tap", 1.5, "sink")),
        Rule("bench under a window", under_window("bench", "south-window")),
        Rule("nothing tall before the south window", light("south-window")),
        Rule("nothing tall before the east window", light("east-window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "door")),
        Rule("a board of pots can be carried to the kiln", reached("door", 0.8, "kiln", "glaze")),
        Rule("wheels on their leads", supply_near("socket", 3.0, "wheel-1", "wheel-2")),
        Rule("elbow room between the wheels", apart("wheel-1", "wheel-2", 0.2)),
    ),
    "pottery-class": (
        Rule("nothing before the entrance", nothing_before("entrance", 0.9)),
        Rule("nothing before the fire door", nothing_before("fire-door", 0.9)),
        Rule("paper well away from the kiln", apart("bags", "kiln", 0.45)),
        Rule("sink by the tap", supply_near("tap", 1.5, "sink")),
        Rule("nothing tall before the south window", light("south-window")),
        Rule("nothing tall before the north window", light("north-window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "entrance")),
        Rule(
            "from every wheel to the fire door",
            reached("fire-door", 0.7, *(f"wheel-{n}" for n in range(1, 6))),
        ),
        Rule("wheels on their leads", supply_near("socket", 4.0, *(f"wheel-{n}" for n in range(1, 6)))),
    ),
    "joiners-loft": (
        Rule("nothing at the hoist door", nothing_before("hoist", 0.9)),
        Rule("nothing at the stair", nothing_before("stair-door", 0.9)),
        Rule("boards go from the hoist door to the rack", reached("hoist", 0.9, "rack")),
        Rule("bench under the north light", under_window("bench", "north-light")),
        Rule("nothing tall before the north light", light("north-light")),
        Rule("nothing tall before the south light", light("south-light")),
        Rule("five feet behind the saw", long_stock("saw", "back", 1.6)),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "stair-door")),
        Rule("extractor within a hose of the saw", near("extractor", "saw", 4.0)),
    ),
    "narrow-woodwork": (
        Rule("nothing at the door", nothing_before("end-door", 0.9)),
        Rule("the saw's outfeed along the shed", along_the_room("saw")),
        Rule("the thicknesser's too", along_the_room("thicknesser")),
        Rule("two metres behind the saw", long_stock("saw", "back", 2.0)),
        Rule("two metres before the saw", long_stock("saw", "front", 2.0)),
        Rule("bench under the window", under_window("bench", "long-window")),
        Rule("nothing tall before the window", light("long-window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "end-door")),
        Rule("the drill within 3 m of the bench", near("drill", "bench", 3.0)),
    ),
    "turner": (
        Rule("nothing in the door", nothing_before("door", 0.9)),
        Rule("logs a yard from the stove", apart("logs", "stove", 0.9)),
        Rule("blanks a yard from the stove", apart("blanks", "stove", 0.9)),
        Rule("polish a yard from the stove", apart("polish", "stove", 0.9)),
        Rule("dust bag a yard from the stove", apart("extractor", "stove", 0.9)),
        Rule("nothing tall before the east window", light("east-window")),
        Rule("nothing tall before the north window", light("north-window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "door")),
        Rule("gouges at hand", near("gouges", "lathe", 1.2)),
    ),
    "smithy": (
        Rule("nothing in the barn door", nothing_before("barn-door", 1.2)),
        Rule("forge under its flue", near("forge", "flue", 0.8)),
        Rule("anvil a step from the fire", near("anvil", "forge", 2.0)),
        Rule("room to swing at the anvil", clear_beside("anvil", 0.5, "left", "right")),
        Rule("one can walk to the extinguisher", grabbed("extinguisher", "barn-door")),
        Rule("nothing tall before the window", light("west-window")),
        Rule("steel comes in by the barn door", reached("barn-door", 0.8, "steel", "coal")),
        Rule("quench within reach of fire and anvil", near("quench", "forge", 3.5)),
    ),
    "fabricator": (
        Rule("nothing before the roller door", nothing_before("roller", 1.2, True)),
        Rule("the van drives straight in", drives_straight_in("van")),
        Rule("a hand's breadth round the van", room_round("van")),
        Rule("the driver can get out, and to the side door", driver_gets_out("van", "side")),
        Rule("paint not in sight of the welding", screened("weld", "paint")),
        Rule("paint not beside the heater", apart("paint", "heater", 0.45)),
        Rule("the panel can be worked at", before_panel("panel")),
        Rule("nothing tall before the window", light("north-window")),
        Rule("a gate can be carried out", reached("side", 0.9, "weld")),
        Rule("eight feet of bar left of the saw", long_stock("saw", "left", 2.4)),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "side")),
        Rule("the welder's cable reaches the table", near("welder", "weld", 3.0)),
    ),
    "community-room": (
        Rule("nothing before the entrance", nothing_before("entrance", 0.9)),
        Rule("nothing before the fire exit", nothing_before("fire-exit", 0.9)),
        Rule(
            "a wheelchair comes to everything",
            reached(
                "entrance", 0.91, "bench-1", "bench-2", "table", "sewing", "sink", "desk", "laser", "shelves"
            ),
        ),
        Rule("and turns there", turning_circle(1.5, "bench-1", "bench-2", "table", "sink", "desk", "laser")),
        Rule("laser at the window its duct goes through", near_door("laser", "vent-window", 1.5)),
        Rule("sink by the tap", supply_near("tap", 1.5, "sink")),
        Rule("nothing tall before the east window", light("east-window")),
        Rule("sander's dust not on the electronics", apart("sander", "bench-1", 1.9)),
        Rule("nor on the other bench", apart("sander", "bench-2", 1.9)),
        Rule("the extinguishers can be grabbed", grabbed("extinguisher-1", "entrance", 0.9)),
        Rule("the other as well", grabbed("extinguisher-2", "entrance", 0.9)),
    ),
    "motorbike-garage": (
        Rule("nothing that doesn't roll before the roller door", nothing_before("roller", 1.2, True)),
        Rule("the roadster rides straight out", drives_straight_in("roadster")),
        Rule("a hand's breadth round it", room_round("roadster")),
        Rule("nothing in the garden door", nothing_before("garden", 0.9)),
        Rule("fuel away from the gas heater", apart("fuel", "gas-heater", 0.45)),
        Rule("solvent away from the gas heater", apart("washer", "gas-heater", 0.45)),
        Rule("bench under the window", under_window("bench", "window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "garden", 0.58)),
        Rule("the lift from both sides", reached("garden", 0.58, "lift")),
    ),
    "boat-shed": (
        Rule("nothing that doesn't roll before the slip door", nothing_before("slip", 1.2, True)),
        Rule("the dinghy goes straight out", drives_straight_in("dinghy")),
        Rule("epoxy away from the heater", apart("epoxy", "heater", 0.45)),
        Rule("rags away from the heater", apart("rag-bin", "heater", 0.45)),
        Rule("planks away from the heater", apart("rack", "heater", 0.45)),
        Rule("sink by the tap", supply_near("tap", 1.5, "sink")),
        Rule("nothing in the path door", nothing_before("path", 0.9)),
        Rule("nothing tall before the sea window", light("sea-window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "path")),
        Rule("bench under the window", under_window("bench", "sea-window")),
    ),
    "upholstery": (
        Rule("a chair comes in by the loading door", reached("loading", 0.9, "trestles")),
        Rule("nothing in the loading door", nothing_before("loading", 0.9)),
        Rule("foam away from the heater", apart("foam", "heater", 0.45)),
        Rule("cloth away from the heater", apart("rolls", "heater", 0.45)),
        Rule("glue away from the heater", apart("glue", "heater", 0.45)),
        Rule("nothing hangs in the steam", apart("webbing", "steamer", 0.5)),
        Rule("foam away from the steamer", apart("foam", "steamer", 1.0)),
        Rule("one sewing machine under the window", under_window("sewing-1", "north-window")),
        Rule("and the other", under_window("sewing-2", "north-window")),
        Rule("nothing tall before the window", light("north-window")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "loading")),
        Rule("sewing machines on a lead", supply_near("socket", 3.0, "sewing-1", "sewing-2", "steamer")),
    ),
    "luthier": (
        Rule("nothing in the door", nothing_before("door", 0.9)),
        Rule("spray by the vent", near_door("spray", "vent", 1.0)),
        Rule("sanding dust not on the lacquer", apart("drum-sander", "spray", 1.5)),
        Rule("planes don't hang over the hot iron", apart("planes", "bending-iron", 0.5)),
        Rule("nor that of the bandsaw", apart("bandsaw", "spray", 1.5)),
        Rule("bench under the north window", under_window("bench", "north-window")),
        Rule("nothing tall before the north window", light("north-window")),
        Rule("lacquer not beside the bending iron", apart("lacquer", "bending-iron", 1.0)),
        Rule("the sander's corner is free", parked_free("drum-sander")),
        Rule("the extinguisher can be grabbed", grabbed("extinguisher", "door")),
    ),
    "farm-repair": (
        Rule("nothing that doesn't roll before the big door", nothing_before("big-door", 1.2, True)),
        Rule("nothing in the small door", nothing_before("small-door", 0.9)),
        Rule("the tractor drives straight in", drives_straight_in("tractor")),
        Rule("firewood not beside the welding", apart("firewood", "weld", 1.9)),
        Rule("its driver can get down", driver_gets_out("tractor", "small-door")),
        Rule("firewood a yard from the stove", apart("firewood", "stove", 0.9)),
        Rule("oil a yard from the stove", apart("oil", "stove", 0.9)),
        Rule("the panel can be worked at", before_panel("panel")),
        Rule("sink by the tap", supply_near("tap", 1.5, "sink")),
        Rule("nothing tall before the window", light("south-window")),
        Rule("the extinguishers can be grabbed", grabbed("extinguisher-1", "small-door")),
        Rule("the other as well", grabbed("extinguisher-2", "small-door")),
        Rule("the welder's cable reaches the table", near("welder", "weld", 3.0)),
    ),
}


def rules(name: str) -> tuple[Rule, ...]:
    """Those of every shed, and those of this one."""
    return (*EVERY_SHED, *OF_ONE[name])
