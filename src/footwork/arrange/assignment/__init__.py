"""Plain assignment problems, given as matrices: ``footwork.assign``.

Tabu search of its own; for the proof, prices raised by the dual ascent, and the same tree.
"""
