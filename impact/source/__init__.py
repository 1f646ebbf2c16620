"""Force spectra and time histories of what strikes the floor."""
