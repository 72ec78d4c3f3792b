"""Paper: what is painted on an arrangement: cables, racks, currents, marks."""
