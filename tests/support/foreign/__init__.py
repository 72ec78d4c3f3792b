"""Logs of other programs, invented."""
