"""Engine: one case over thousands of variants inside the tolerances."""
