"""The proof: a tree of parts of the problem, each with a bound, the least of them first.

What a node does, how it is split and kept until its turn comes.
"""
