"""Engine: the bank as an electrical network: cases, steady solutions, scatter, trips, runs, joining, inverse."""
