"""How compiled code is made, kept and called.

Functions are compiled once each and kept on disk as long as their source stays (``functions``, ``kept``);
what they hand on is a record of arrays, by reference (``records``).
"""
