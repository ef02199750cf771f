"""``--anywhere``: a layout refined off the spots, and a bound on every position, not only spots.

Positions are gathered into cells, on which the same tree works.
"""
