"""Puts this folder on the import path, so that tests can share `designs`."""
