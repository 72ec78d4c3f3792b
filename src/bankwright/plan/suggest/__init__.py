"""Stage: the search for the least change that passes."""
