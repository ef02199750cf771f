"""Clearances and safety: one module a family, each check a small function beside its figure and source."""
