"""True costs of choices of spots, one ``Judge`` a thread."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Floats, Ints, Longs
from footwork.arrange.pair_table.legs import wish_prices
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.stamps import copied, make_scene
from footwork.arrange.true_cost.distance_cache import KNOWN, METRES, Floor, new_log, new_memory
from footwork.arrange.true_cost.evaluate import Work, afresh
from footwork.arrange.true_cost.routes import make_routes, make_wishes
from footwork.floor.desk import new_desk


class Judge:
    """Gives the true cost of a choice; keeps a scene of its own, so one thread at a time."""

    def __init__(self, table: PairTable, like: Judge | None = None) -> None:
        self._table = table
        if like is None:
            things = [spots.thing for spots in table.lists]
            scene, slots = make_scene(table.building, things)
            routes, wishes = make_routes(table), make_wishes(table)
            unary = _wishes_to_building(table)
            joined = np.zeros(len(scene.first) - 1, np.int64)
            self.floor = Floor(
                scene,
                new_desk(scene),
                joined,
                slots,
                table.stamps,
                table.places,
                routes,
                wishes,
                unary,
                len(table.building),
            )
        else:
            scene = copied(like.floor.scene)
            self.floor = like.floor._replace(
                scene=scene, desk=new_desk(scene), joined=like.floor.joined.copy()
            )
        routes = self.floor.routes
        self.memory, self.saved, self.log = new_memory(routes), new_memory(routes), new_log(routes)
        most = max([1, *routes.rows.tolist(), *routes.columns.tolist()])
        longest = max([1, *np.diff(routes.task).tolist()])
        self.work = Work(
            np.zeros(most), np.zeros(most), np.zeros((longest, most), np.int64), np.zeros(1, np.int64)
        )

    def __call__(self, choice: Ints, limit: float = np.inf) -> float:
        """Metres a year, infinite above ``limit`` or when a job cannot be walked."""
        spots = np.asarray(choice)
        return float(afresh(self.floor, self.memory, self.saved, self.log, spots, self.work, limit))

    def shut(self) -> int:
        """How many tasks there was no walk for, in the layout measured last."""
        return int(np.isinf(self.memory.cost[self.floor.routes.weight > 0]).sum())

    def cut_off(self) -> Longs:
        """How many walks there are none of, by thing at either end, in the layout measured last."""
        routes, memory = self.floor.routes, self.memory
        none = (memory.fact[:, KNOWN] != 0) & np.isinf(memory.figure[:, METRES])
        ends = routes.slot_thing[np.concatenate((routes.start[none], routes.end[none]))]
        return np.bincount(ends[ends >= 0], minlength=len(routes.is_vehicle))

    def twin(self) -> Judge:
        """Another judge of the same table, for another thread."""
        return Judge(self._table, self)


def _wishes_to_building(table: PairTable) -> Floats:
    """What the wishes that are measured to the building cost, by spot."""
    return wish_prices(table.scenario, table.lists)[0]
