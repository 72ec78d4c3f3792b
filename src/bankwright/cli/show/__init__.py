"""Face: printed forms of results."""
