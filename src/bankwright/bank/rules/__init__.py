"""Ground 2: rules between fields of the written form; each gives faults."""
