"""What a whole layout costs, to the last digit as ``scoring.py`` finds it, fast from move to move.

One ``Judge`` a thread gives it for a choice of spots.
"""
