"""Numbers drawn at random in compiled code; the state of the generator is an array of one number."""

from __future__ import annotations

import numpy as np

from footwork.arrange.core.arrays import Seeds
from footwork.compiled.functions import inner


def seeded(rng: np.random.Generator) -> Seeds:
    """A state to begin with, drawn from ``rng``."""
    return np.array([rng.integers(0, 2**63)], np.uint64)


@inner
def draw(seed: Seeds) -> float:
    """The next number in [0, 1) of the generator whose state is ``seed[0]`` (splitmix64)."""
    seed[0] += np.uint64(0x9E3779B97F4A7C15)
    z = seed[0]
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return np.float64(z >> np.uint64(11)) / 9007199254740992.0
