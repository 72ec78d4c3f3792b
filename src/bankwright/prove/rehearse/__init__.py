"""Stage: a rehearsal of first power-up: a pretend bank with planted faults, read step by step; nothing is kept."""
