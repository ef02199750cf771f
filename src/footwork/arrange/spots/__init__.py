"""Where things may stand: spots, which of them get in each other's way, which share floor.

Geometry of two things at most; no walks and no costs.
"""
