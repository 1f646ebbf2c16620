"""Gravity: the stack at rest. What each hanger carries, how far things sag, what if one is lost."""

from impact.gravity.loads import Hanger, Loads, loads

__all__ = ["Hanger", "Loads", "loads"]
