"""Line weights, greys, colours and stacking order of a plan, in one place.

Weights are points, lengths millimetres on paper.  Things are told apart by grey and by name; colour
is kept for what the eye should find: the route of a job and failed checks.
"""

from __future__ import annotations

POINT = 25.4 / 72
"""Millimetres in a typographic point."""

# --- greys, darkest first
WALL = "#2a2a2a"
INK = "#1c1c1c"
EDGE = "#3a3a3a"
FIXTURE = "#8f8f8f"
SOFT_INK = "#5a5a5a"
STATION = "#dcdcdc"
FRONT = "#2a2a2a"
FINE = "#8a8a8a"
HATCH = "#c4c4c4"
STRIP_EDGE = "#b4b4b4"
YARD = "#f4f4f1"
YARD_EDGE = "#b9b9b2"
VEHICLE = "#f7f7f7"
PAPER = "#ffffff"

# --- colour: blues and plums that stay apart from the orange of failures, and from white, for any eyes
ROUTES = ("#0072b2", "#a0408f", "#5a5fc8")
FAIL = "#c94f00"
STANDING = "#0072b2"
MOVE = "#0072b2"
WALKING = ("#e4eef6", "#bdd7ea", "#8abbdc", "#4f98c6", "#1e72a6", "#0a4670")
"""Least walked to most: each step darker than the one before, so that a grey print tells them apart too."""

# --- line weights, points
FRAME_LINE = 0.9
WALL_LINE = 0.5
OUTLINE = 0.75
ARC = 0.4
WINDOW_LINE = 0.45
HAIR = 0.3
DIMENSION = 0.35
ROUTE_LINES = (1.0, 1.6, 2.2, 2.8)
"""A way walked once in the job, twice, three times, four times or more."""
FAIL_LINE = 1.5

# --- dashes, points on and off
DASHED = (4.0, 2.2)
OVERHEAD = (3.2, 2.0)
FINE_DASH = (2.4, 1.6)
DOTTED = (0.6, 1.7)
CHAIN = (7.0, 1.8, 0.8, 1.8)

# --- stacking order, lowest first
Z_YARD = 1.0
Z_FLOOR = 2.0
Z_HATCH = 3.0
Z_STRIP = 3.5
Z_WALKING = 3.7
Z_CLEAR = 4.0
Z_WALL = 5.0
Z_DOOR = 6.0
Z_VEHICLE = 7.0
Z_STATION = 8.0
Z_HUNG = 8.4
Z_FRONT = 8.5
Z_STANDING = 9.0
Z_STOCK = 9.5
Z_BEFORE = 9.7
Z_DIMENSION = 10.0
Z_ROUTE = 11.0
Z_ARROW = 12.0
Z_STOP = 13.0
Z_MARK = 14.0
Z_LEADER = 15.0
Z_TEXT = 16.0

# --- text sizes, points
TITLE_TEXT = 15.0
BODY_TEXT = 8.0
SMALL_TEXT = 6.5
NAME_SIZES = (8.5, 7.5, 6.5, 5.8)
LED_SIZES = (7.0, 6.2, 5.6)
