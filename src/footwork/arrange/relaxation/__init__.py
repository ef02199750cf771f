"""A lower bound of the pair-table problem: messages along edges, multipliers of what spots share.

What its spots and costs stand for it does not know: no geometry is imported here.
"""
