"""Scenario objects, units, reading and writing the file."""
