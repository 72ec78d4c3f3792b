"""Ground 1: pure formulas on floats and arrays in SI units."""
