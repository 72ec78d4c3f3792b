"""Ground 1: published numbers and rule books as data, each with its source."""
