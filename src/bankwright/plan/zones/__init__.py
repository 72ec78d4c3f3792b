"""Stage: zones of the wiring: what lies between overcurrent devices, what feeds it, and what clears a short in it."""
