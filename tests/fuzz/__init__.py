"""Seeded mutation of everything a user hands to the program; see `run.py`."""
