"""How long things take: measured side by side with slower ways to the same answer."""
