"""What the numbers mean: resonances, warnings and levers, margins to a target."""
