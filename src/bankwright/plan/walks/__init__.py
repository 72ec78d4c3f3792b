"""Stage: ways along the wiring: what feeds what, and through which device."""
