"""The plan in the browser, on this machine alone: make a shed, move things and watch the metres follow.

``desk`` holds what stands where and the moves that led there; ``flush`` and ``clearances`` are its geometry,
``drawing`` is what it looks like.  ``figures`` are what it costs, reckoned in stages (``reckoning``) in a
process ``beside``.  ``messages`` says what page and program tell each other, ``server`` serves it.
``editing`` makes and changes what the file says, ``keeping`` sees that nothing is lost.  The page itself, in
``files/``, shows and decides nothing.
"""
