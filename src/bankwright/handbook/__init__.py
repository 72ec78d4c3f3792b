"""Published numbers and rule books as data, each with its source."""
