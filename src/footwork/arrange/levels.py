"""How finely spots lie: as finely as the time can use, in one level or two.

Where nobody says, the pitch is the finest whose tables take no more than a part of the time, the usual one at
best, and finer than that in a room so small that a hand's breadth decides what fits.  A pitch that somebody
asks for is kept.  Where tables take long, a coarser level comes first, so that there is something to show and
to start from; what is found there are spots of the next, so that nothing is lost between them.  A search
that goes by iterations, not by the clock, has one level, which depends on the file alone.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import NoReturn

from footwork.arrange.core.options import USUAL_PITCH, Options
from footwork.arrange.core.pairwise import MEMORY_LIMIT_SPOTS
from footwork.arrange.nowhere import building_is_sound, every_station_has_one, kept_stand_together
from footwork.arrange.spots.enumerate import SpotList, spots_by_thing, tried_spots
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.model.units import format_length

PAIRS_TRIED_PER_SECOND = 40_000_000
"""Pairs of spots that one core tries for a clash and a straight way, about."""
TWO_THINGS = 0.001
"""Seconds that each two things take one core beside that, about."""
LISTED, LAID_OUT = 0.0001, 0.00014
"""Seconds in which an idle core lists a spot, and lists it and lays out its shapes and prices, about."""
SLOW = 1.2
"""Times as long as that which listing took from which on the machine counts as busy, and all else as slow."""
COARSE_TABLE, TABLE = 0.015, 0.3
"""Parts of the time that the tables of a coarse level, and of the last, may take."""
COARSE_PART = 0.15
"""Part of the time that a coarse level takes, at most."""
LONG = 16.0
"""Seconds that tables may take from which on a coarse level comes first: in less time it would cost more, by
the coarser pitch that is left time for after it, than it is worth to see something sooner."""
PITCHES = (0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0)
"""Metres: what is tried where nobody says."""
FEW = 1_200
"""Spots up to which a room is looked at more finely than usual."""
LEAST, PER_THING = 400, 40
"""Spots that are never too many, in all and for each thing: what each pair of things takes, however few spots
they have, is no less then."""
KEPT = 0.6
"""Part of the positions tried that the building leaves, about: 0.4 to 0.8 in the sheds of the tests."""
SEEN = 0.25
"""Part of the positions tried from which on it is seen how long listing takes."""
OVER = 1.1
"""Times the spots that fit by the clock that are taken all the same, once they are listed."""


@dataclass(frozen=True)
class Level:
    """The spots of each thing, and options with the pitch they lie at.  ``last``: none finer comes after."""

    lists: tuple[SpotList, ...]
    options: Options
    last: bool

    @property
    def size(self) -> int:
        """Spots in all."""
        return sum(len(spots.placements) for spots in self.lists)


@dataclass
class Levels:
    """The levels of one search."""

    scenario: Scenario
    base: Layout | None
    options: Options
    slow: float = 1.0
    """How many times as long as on an idle core things take, as far as it was seen."""
    gone: float = 0.0
    """Seconds of the time that have gone already, before spots are listed."""

    def refuse_too_many(self) -> None:
        """Raises UsageError where there are surely more spots than fit, at any pitch that may be used."""
        self._surely_fits(PITCHES[-1] if self.options.coarsen else self.options.pitch)

    @cached_property
    def first(self) -> Level:
        """The level to begin with.

        Raises NoLayoutError when a station has no spot or kept ones clash, UsageError when there are more
        spots than fit in memory at a pitch that is not to be changed.
        """
        if self.options.iterations is not None:
            return self.last
        if self.options.coarsen:
            return self._sketch() or self.last
        return (self._coarser(self.last) if self.last.size > self._most(TABLE) else None) or self.last

    def finer(self, level: Level) -> Level | None:
        """The next finer level at which everything has a spot: where there is no layout on this one.

        None where the pitch is not to be changed, or the time not long enough for another.
        """
        if not self.options.coarsen:
            return None
        most = self._most(TABLE)
        for pitch in reversed(PITCHES):
            if pitch < level.options.pitch and KEPT * self._tried(pitch, most) <= most:
                found = self._level(pitch)
                if _all_have_one(found) and level.size < found.size <= MEMORY_LIMIT_SPOTS:
                    return found
        return None

    def _most(self, part: float) -> int:
        """Spots whose table takes a part of the time, or that are never too many, if they fit in memory."""
        return min(MEMORY_LIMIT_SPOTS, max(self._never_too_many(), self._in_time(part)))

    def _never_too_many(self) -> int:
        return max(LEAST, PER_THING * len(self.scenario.things))

    def _in_time(self, part: float) -> int:
        """Spots whose table takes a part of the time."""
        if self.options.iterations is not None:
            return MEMORY_LIMIT_SPOTS
        processes, things = self.options.processes, len(self.scenario.things)
        seconds = part * max(0.0, self.options.seconds - self.gone) / self.slow
        seconds = max(0.0, seconds - TWO_THINGS * 0.5 * things * (things - 1) / processes)
        # Spots n with LAID_OUT n + n^2 / rate = seconds.
        rate = processes * PAIRS_TRIED_PER_SECOND
        half = 0.5 * LAID_OUT * rate
        return int(math.sqrt(half**2 + rate * seconds) - half)

    def _level(self, pitch: float) -> Level:
        level = self._listed(pitch, lambda _: False)
        assert level is not None
        return level

    def _if_it_fits(self, pitch: float, may: float, tried: int) -> Level | None:
        """The level of a pitch of ``tried`` positions; None with more spots than ``may`` be or time allows.

        Where listing takes long that is noticed before all are listed.
        """

        def too_many(lists: list[SpotList]) -> bool:
            ahead = tried - sum(spots.tried for spots in lists)
            size = sum(len(spots.placements) for spots in lists)
            enough_seen = ahead < (1.0 - SEEN) * tried
            most = min(OVER * min(may, self._most(TABLE)), MEMORY_LIMIT_SPOTS)
            return enough_seen and size + KEPT * ahead > most

        return self._listed(pitch, too_many)

    def _listed(self, pitch: float, given_up: Callable[[list[SpotList]], bool]) -> Level | None:
        """The level of a pitch, None where it is ``given_up`` after a thing; sees how long listing takes."""
        options, began, slow = self.options, time.monotonic(), self.slow
        lists: list[SpotList] = []
        for spots in spots_by_thing(
            self.scenario, pitch, options.facings, self.base, options.keep, options.strict
        ):
            lists.append(spots)
            size = sum(len(of.placements) for of in lists)
            took = (time.monotonic() - began) / (max(size, LEAST) * LISTED)
            self.slow = max(slow, took) if took > SLOW else slow
            if given_up(lists):
                return None
        return Level(tuple(lists), replace(options, pitch=pitch), True)

    def _checked(self, level: Level) -> Level:
        """Raises NoLayoutError when a station has no spot or kept ones clash, UsageError for too many."""
        building_is_sound(self.scenario, self.options.strict)
        every_station_has_one(self.scenario, level.lists, self.options.strict)
        kept_stand_together(self.scenario, level.lists, self.options.strict)
        if level.size > MEMORY_LIMIT_SPOTS:
            self._too_many(level.options.pitch, f"{level.size} spots")
        return level

    def _surely_fits(self, pitch: float) -> None:
        """Raises UsageError where spots of a pitch are so many that none need be listed to be sure."""
        most = 2 * MEMORY_LIMIT_SPOTS  # what is only reckoned must not refuse a room that would do
        about = KEPT * self._tried(pitch, most)
        if about > most:
            self._too_many(pitch, f"some {about:.0f} spots or more")

    def _finest(self) -> Level:
        """The level of the finest pitch that the time can use."""
        usual = self._tried(USUAL_PITCH, OVER * self._most(TABLE))
        for pitch in PITCHES:
            most = self._most(TABLE)
            may = most if pitch >= USUAL_PITCH else min(FEW, most)
            if pitch < USUAL_PITCH and KEPT * usual > OVER * may:
                continue  # a finer pitch has more: a large room's are not counted for nothing
            tried = usual if pitch == USUAL_PITCH else self._tried(pitch, OVER * may)
            if KEPT * tried <= OVER * may and (pitch >= USUAL_PITCH or tried > usual):
                level = self._if_it_fits(pitch, may, tried)
                if level is not None:
                    return level
        coarsest = self._level(PITCHES[-1])
        if coarsest.size > MEMORY_LIMIT_SPOTS:
            self._too_many(PITCHES[-1], f"{coarsest.size} spots")
        return coarsest

    def _tried(self, pitch: float, most: float) -> int:
        """Positions of all things at a pitch, before the building has its say.

        Once it is certain that more than ``most`` spots are left of them, no more are counted: in a hall with
        hundreds of stations that would take longer than the search.
        """
        facings, held, count = self.options.facings, set(self.options.keep), 0
        for thing in self.scenario.things:
            if thing.name not in held:
                count += len(tried_spots(self.scenario, thing, pitch, facings))
                if KEPT * count > most:
                    break
        return count

    @cached_property
    def last(self) -> Level:
        """The level to end with: of the finest pitch that the time can use, where it may be changed.

        Raises as ``first``.
        """
        self.refuse_too_many()
        if not self.options.coarsen:
            return self._checked(self._level(self.options.pitch))
        level = self._finest()
        found = None if _all_have_one(level) else self.finer(level)
        return self._checked(found or level)

    def _sketch(self) -> Level | None:
        """A coarse level to begin with; None where nobody waits long for a fine one, the usual pitch has few
        spots, or the room so many things that even a coarse level takes a good part of the time."""
        most = self._in_time(COARSE_TABLE)
        if TABLE * self.options.seconds < LONG or most < self._never_too_many():
            return None
        if KEPT * self._tried(USUAL_PITCH, most) <= most:
            return None
        for pitch in (pitch for pitch in PITCHES if pitch > USUAL_PITCH):
            tried = self._tried(pitch, most)
            level = self._if_it_fits(pitch, most, tried) if KEPT * tried <= most else None
            if level is not None and _all_have_one(level):
                return self._for_a_while(level)
        return None

    def _for_a_while(self, level: Level) -> Level:
        """A coarse level, with the part of the time that it gets."""
        seconds = COARSE_PART * self.options.seconds
        return replace(level, options=replace(level.options, seconds=seconds), last=False)

    def _coarser(self, wanted: Level) -> Level | None:
        """A level with fewer spots to begin with; None where some station would have none."""
        most = self._most(COARSE_TABLE)
        for factor in (math.sqrt(wanted.size / most), wanted.size / most):
            # Spots grow with the square of the pitch on the floor, and no faster than itself along walls.
            pitch = math.ceil(20.0 * wanted.options.pitch * factor) / 20.0
            level = self._level(pitch)
            if not _all_have_one(level):
                return None
            if level.size <= OVER * most:
                break
        return self._for_a_while(level)

    def _that_fits(self, than: float) -> Level | None:
        """A level of a pitch greater ``than`` one that fits in memory, if there is one."""
        most = 1.2 * MEMORY_LIMIT_SPOTS
        for pitch in (pitch for pitch in PITCHES if pitch > than):
            if KEPT * self._tried(pitch, most) <= most:
                fits = self._level(pitch)
                if fits.size <= MEMORY_LIMIT_SPOTS:
                    return fits
        return None

    def _too_many(self, pitch: float, spots: str) -> NoReturn:
        say, fits = partial(format_length, units=self.scenario.units), self._that_fits(pitch)
        mend = "keep some stations, or name spots in the file"
        if fits is not None:
            mend = f"a pitch of {say(fits.options.pitch)} gives {fits.size}; or keep some stations"
        raise UsageError(
            f"pitch {say(pitch)} gives {spots}, more than the {MEMORY_LIMIT_SPOTS} that fit: {mend}"
        )


def _all_have_one(level: Level) -> bool:
    return all(spots.placements for spots in level.lists)
