"""The high bands: statistical energy, slabs, coverings, flanking."""
