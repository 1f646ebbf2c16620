"""From band energies to what people below hear and people above feel."""
