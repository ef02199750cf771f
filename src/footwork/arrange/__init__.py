"""Spots, the pair table, the search, the bound, and ``suggest`` that puts them together."""
