"""Face: what hands type: readings, ticks, entries."""
