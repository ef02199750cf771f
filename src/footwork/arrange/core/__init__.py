"""The forms that all of ``arrange/`` shares: arrays, costs of pairs, options, results, when to stop.

Nothing here knows of rooms or walks, and nothing here searches.
"""
