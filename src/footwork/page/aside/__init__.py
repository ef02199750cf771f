"""What the page asks for that takes longer than a move of the hand: where a thing would go, a better layout.

Each is worked out in a process of its own (``process``): ``looking`` goes through the spots of one thing,
``suggesting`` searches.  ``asides`` is the page's side of both: who is asked what, and when that is stale.
"""
