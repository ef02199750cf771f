"""True costs of choices of spots, one ``Judge`` a thread."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Ints, Longs
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.pair_table.wishes import wish_costs
from footwork.arrange.spots.stamps import copied, make_scene
from footwork.arrange.true_cost.distance_cache import KNOWN, METRES, Floor, new_cache, new_trail
from footwork.arrange.true_cost.evaluate import Evaluation, Work, afresh
from footwork.arrange.true_cost.routes import make_routes, make_wishes, pair_prices
from footwork.floor.desk import new_desk


class Judge:
    """Gives the true cost of a choice; keeps a scene of its own, so one thread at a time."""

    def __init__(self, table: PairTable, like: Judge | None = None) -> None:
        self._table = table
        if like is None:
            things = [spots.thing for spots in table.lists]
            scene, slots = make_scene(table.building, things)
            routes, wishes = make_routes(table), make_wishes(table)
            unary = wish_costs(table.scenario, table.lists)[0] + table.prices.unary
            joined = np.zeros(len(scene.first) - 1, np.int64)
            floor = Floor(
                scene=scene,
                desk=new_desk(scene),
                joined=joined,
                slots=slots,
                stamps=table.stamps,
                places=table.places,
                routes=routes,
                wishes=wishes,
                unary=unary,
                prices=pair_prices(table.prices),
                first_thing=len(table.building),
            )
        else:
            known = like.evaluation.floor
            scene = copied(known.scene)
            floor = known._replace(scene=scene, desk=new_desk(scene), joined=known.joined.copy())
        routes = floor.routes
        most = max([1, *routes.blocks.rows.tolist(), *routes.blocks.columns.tolist()])
        longest = max([1, *np.diff(routes.tasks.first).tolist()])
        work = Work(
            cost=np.zeros(most),
            then=np.zeros(most),
            back=np.zeros((longest, most), np.int64),
            last=np.zeros(1, np.int64),
        )
        self.evaluation: Evaluation = Evaluation(
            floor=floor, cache=new_cache(routes), trail=new_trail(routes), work=work
        )

    def __call__(self, choice: Ints, limit: float = np.inf) -> float:
        """Metres a year, infinite above ``limit`` or when a job cannot be walked."""
        spots = np.asarray(choice)
        return float(afresh(self.evaluation, spots, limit))

    def shut(self) -> int:
        """How many tasks there was no walk for, in the layout measured last."""
        ev = self.evaluation
        return int(np.isinf(ev.cache.tasks.cost[ev.floor.routes.tasks.weight > 0]).sum())

    def cut_off(self) -> Longs:
        """How many walks there are none of, by thing at either end, in the layout measured last."""
        routes, cache = self.evaluation.floor.routes, self.evaluation.cache
        none = (cache.entries.fact[:, KNOWN] != 0) & np.isinf(cache.entries.figure[:, METRES])
        ends = routes.slots.thing[np.concatenate((routes.entries.start[none], routes.entries.end[none]))]
        return np.bincount(ends[ends >= 0], minlength=len(routes.comes))

    def twin(self) -> Judge:
        """Another judge of the same table, for another thread."""
        return Judge(self._table, self)
