"""Single numbers, each from its clause."""
