"""Studies: questions that take many layouts to answer.

Each study is one function that takes and returns plain objects.  What it reckons is cut into cases, which
``cases.py`` runs in processes or on a cluster and keeps in a file, so that a study cut off goes on.
"""
