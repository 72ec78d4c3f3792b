"""Engine: a survey of a bus that speaks by itself: what was overheard, and what it means."""
