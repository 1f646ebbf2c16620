"""What is measured where the ceiling hangs, held against what was predicted."""
