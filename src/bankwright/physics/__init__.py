"""Pure formulas on floats and arrays in SI units."""
