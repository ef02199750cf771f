"""Where else one thing could stand: what the year would cost for every spot of it, all else staying.

``spots`` tells which spots there are and what keeps the thing out of the others, ``pricing`` what a layout
costs that differs from another in one thing, ``where`` goes through the floor coarse to fine; ``results`` is
what is found, and ``why`` puts refusals in words.  Figures and refusals are those of ``scoring.score``.
"""
