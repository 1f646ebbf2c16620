"""The middle and high bands by energy: leaves as averages, joist floors as rows of equal bays."""

from impact.energy.paths import Energy, transfer

__all__ = ["Energy", "transfer"]
