"""Good layouts: first ones that can be walked, then annealing on the pair table and on the true cost.

Says nothing of how good they are: that is the bound's.
"""
