"""Leaves and links brought to motion: the design's stack, its forces per frequency, its modes."""
