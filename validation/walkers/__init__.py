"""Walkers predicted below the example floors beside what is published of walking."""
