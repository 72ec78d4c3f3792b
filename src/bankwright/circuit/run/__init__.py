"""Engine: a case over time: charge, relaxation, heat, trips."""
