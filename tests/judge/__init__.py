"""The slow judge of walking: written anew on shapely and networkx, to hold the package's own figures against.

It shares no code with ``src/``.  It reads the frozen objects of a scenario as data and nothing else.
Everything here prefers being obviously right to being fast.

- ``geometry``  footprints, standing places, walls with openings, which vehicles are in
- ``paths``     shortest path of a disc's centre over a full visibility graph
- ``routes``    a job's distance over every choice of standing places
- ``figures``   the cost of a layout in metres a year
- ``scenes``    random scenes to try a path engine on
"""
