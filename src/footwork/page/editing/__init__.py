"""Making and changing what a file says, from the page: room, openings, stations, vehicles, jobs.

Each edit takes a scenario and gives a new one, by changing the text of its file and reading that: what the
reader refuses is refused in its words, and comments stay.  ``edits`` has them by their names, ``document``
is how the text is changed.
"""
