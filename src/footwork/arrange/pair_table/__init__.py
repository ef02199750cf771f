"""Costs of pairs of spots: the walks of each pair of things as if these two stood alone.

Never more than what the same walks cost in any layout, so a bound on the table is one on the truth.
"""
