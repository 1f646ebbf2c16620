"""The middle and high bands by statistical energy."""

from impact.energy.paths import Energy, transfer

__all__ = ["Energy", "transfer"]
