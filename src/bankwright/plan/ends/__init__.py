"""Stage: worst ends: stand-in ranges, least and largest faults, surges."""
