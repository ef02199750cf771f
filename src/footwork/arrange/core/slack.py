"""By how much what must hold is taken worse than computed, and why that is on the safe side.

A bound stays a bound only if every rounding goes one way.  Each such number stands here, with its reason;
none of them is a tolerance of the checks (that is ``model.scenario.TOLERANCE``).
"""

from __future__ import annotations

# --- pair tables

DOUBLES_DOWN = 1.0 - 1e-12
"""Sums of a few hundred metres in double precision are off by less than 1e-13 of them: what enters a table
as a lower bound is taken this much lower."""

SINGLES_DOWN = 1.0 - 2e-7
"""Rounding to the nearest single changes a number by up to 6e-8 of it, and comparing it with another rounded
one by twice that: metres that are stored in singles without being floored are taken this much lower."""

SHARE_UP = 1.0 + 1e-9
"""What a visit's own legs take out of the table may only be too much, never too little: a leg counted twice
would break the bound, one counted short does not."""

OWN_WALK_DOWN = 1.0 - 1e-9
"""A walk round one's own footprint is searched at one position and facing and stands for all: elsewhere
rounding makes it differ by less than 1e-12 of it."""

CLEAR = 1e-7
"""Metres by which a depth from half-planes must miss the tolerance for them to decide: their rounding is
below 1e-11, and what is nearer is asked of the overlap predicate itself."""

WHOLE = 1e-9
"""Parts of a step by which a quotient may miss a whole number for the rounding of doubles: a range of just
so many steps is no longer, and no shorter."""

# --- cells

TURNED_FURTHER = 1e-9
"""Radians that a cell reaches further than the checks let a thing turn: a placement on its edge is in it,
whatever degrees and radians lose."""

REACHED_FURTHER = 1e-6
"""Metres by which a placement may seem to lie outside of a cell that it is in: a hundredth of the tolerance,
and far above rounding.  A cell that holds one too many only stays in use."""

WINDOW_FURTHER = 1e-7
"""Parts of a square that a pair of cells reaches further among squares of differences: one square too many
can only make the least over them lower."""

OPENING_FURTHER = 0.02
"""Metres from a door or window within which a cell's stock may pass it, beyond what the cell moves it: a
cell whose stock may be cut off by the checks is never refused for it, so too many such cells are safe."""

BACK_BEYOND_WALL = 0.10
"""Metres that the checks allow for, times half a degree's sine, where the ends of a back that is not quite
parallel reach past its wall (``checks/standing.py``): cells reach as far."""

SETS_OFF_LATER = 1e-9
"""Metres that a walk between cells is taken shorter before it counts as longer than a step: what stands
exactly a step off does not set off, whatever rounding does."""

# --- the relaxation and what tightens it

WEIGHTS_DOWN = 1.0 - 3e-7
"""A leg's weight, its metres and their product are singles, each off by at most 6e-8 of itself: with weights
this much lower no cost is above the true one."""

CONSTANT_DOWN = 1e-9
"""Part of the constant that it is lowered by: sums of some hundred doubles are off by less than 1e-13."""

PAIR_SHARE_DOWN = 1.0 - 1e-6
"""Part of what a visit's legs count that is taken out of the integer costs of pairs, one unit on top: more
than the floor leaves off, so what stays in the table may be too little, never too much."""

KNOWN_UNITS = 2.0
"""Integer units that a walk's rise adds less: the known cost was rounded down by less than one, and metres in
singles are off by less than another."""

KNOWN_FURTHER = 1e-6
"""Metres by which a walk may be longer than it is known to be and still be searched anew: one search too many
only takes time."""

SHARE_LEFT = 1e-9
"""Times a year of a leg that visits may leave to the table and it still counts as none: a leg less in the
bound only lowers it."""

INSIDE_UPRIGHT = 1e-9
"""Metres by which a corner may be off the upright rectangle round a footprint that counts as upright: less
than a hundred-thousandth of the tolerance by which things may overlap."""

# --- plain assignment

SUMS_DOWN = 1e-9
"""Part by which a bound of plain assignment is taken lower than its sums: a million doubles
in a row round by less than a tenth of this."""

NEXT_GRAIN = 1e-6
"""Part of a grain by which a bound may stand above a multiple of it and still not be raised to the next: its
rounding is below that, so no multiple is skipped."""

UNDER_GRAIN = 0.999
"""Where every cost is a multiple of a grain, one below the best is less by a grain: this part of it is safe
whatever rounding does."""

# --- search

TABLE_ABOVE = 1e-6
"""Metres a year by which the table's price must be above a move's threshold to refuse it: the price is summed
up move by move, and its rounding stays far below.  A move let through is only costed in vain."""
