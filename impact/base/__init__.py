"""Bands, levels, units, air: knows no floors."""
