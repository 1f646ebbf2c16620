"""Many predictions: hangers, layouts, spread, faults."""
