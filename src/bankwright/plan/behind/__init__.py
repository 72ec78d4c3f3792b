"""Stage: what stands behind a solved figure, number by number, so that it can be redone by hand."""
