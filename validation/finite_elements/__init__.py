"""Finite-element reference for coupled floors and ceilings, apart from the package's own code."""
