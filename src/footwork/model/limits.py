"""How much a scenario file may hold, with the reason for each figure; ``sizes.py`` counts.

The limits are far above any workshop that people have measured out, and low enough that every command stays
usable.  ``scenarios/README.md`` lists them.
"""

from __future__ import annotations

MOST_BYTES = 1_000_000
"""Of a file.  200 stations with forty layouts take 0.5 MB; reading a full one takes some three seconds."""

MOST_STATIONS = 250
"""With counts written out.  Pairs of them grow with the square, ways round them faster: more keep one
score busy for minutes."""

MOST_ALIKE = 100
"""The greatest `count` of one table."""

MOST_CORNERS = 200
"""Of one outline.  A wall surveyed every 10 cm along a bow of 20 m; ways bend at every corner, so that
1,000 keep a score busy for minutes."""

MOST_CORNERS_IN_ALL = 1_500
"""Of the room, yards, stations with counts written out, vehicles and fixtures; a rectangle has four.
250 rectangles take 1,000."""

MOST_PARTS = {
    ("room", "doors"): 100,
    ("room", "windows"): 100,
    ("room", "fixtures"): 200,
    ("room", "keep_clear"): 100,
    ("room", "yards"): 10,
    ("seasons",): 12,
    ("vehicles",): 8,
    ("jobs",): 500,
    ("spots",): 2_000,
    ("prefer",): 1_000,
    ("layouts",): 100,
}
"""Tables of each kind: what a street of halls would have, five to ten times over.  Those that are compared
pair by pair (doors in one wall, yards) have the lower figures; eight vehicles, in or out, are 256 states of
the floor, and twenty would not fit memory."""

MOST_PLACES = 500
"""Standing places along the sides of stations with `along`: 300 m of benches worked all along."""

PLACE_EVERY = 0.6
"""Metres between standing places along a side (scenarios/README.md, `along`)."""

MOST_STOPS = 2_000
"""Of one route with its repeats written out: a day's walking of one person at a leg every 15 seconds."""

MOST_STOPS_IN_ALL = 10_000
"""Of all routes together: what is walked is listed leg by leg."""

MOST_LISTED = 200
"""Members of a list inside a table, such as `carry`, or the `spots` of a vehicle."""

MOST_WISHES = 5_000
"""With groups written out: a group of 100 apart from another would be 10,000 wishes of one line."""

MOST_TIMES = 1e7
"""Times a year: once every three seconds, day and night."""

LONGEST = 1000.0
"""Metres.  A greater length in a workshop is a slip of the unit."""

SHORTEST = 1e-4
"""Metres, of a length above 0: what a file holds to; a step or width of less would make figures infinite."""

LONGEST_NAME = 60
"""Letters of a name: it goes into columns and onto plans."""

LONGEST_TEXT = 200
"""Letters of a text, such as the scenario's name or why a check is accepted."""

MOST_PROBLEMS = 100
"""Told of one file.  Who has made more mends these first; a pasted file of another kind has thousands."""
