"""A node's bound made tighter: walks lead round what its things are certain to cover.

Takes the walks of the pair table anew, and hands them to the relaxation.
"""
