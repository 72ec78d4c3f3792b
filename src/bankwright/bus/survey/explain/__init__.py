"""Engine: what the facts of a survey mean, in words: observed, how sure, the one test to make next."""
