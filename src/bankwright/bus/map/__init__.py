"""Engine: what registers mean: a map that a person writes from the module's own manual, and values out of registers."""
