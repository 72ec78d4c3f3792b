"""Engine: from readings back to resistances, with bands, and what cannot be told apart."""
