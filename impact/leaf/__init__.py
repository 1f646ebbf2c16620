"""Things that bend: modes in, modes out."""
