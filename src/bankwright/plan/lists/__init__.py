"""Stage: what is made of all findings together: gaps, not checked, comparison."""
