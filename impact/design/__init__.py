"""What is built, as frozen data, and how a file becomes it."""
