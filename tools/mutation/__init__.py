"""Mutation testing of the rooms that decide verdicts: what is changed, which tests see the place, who notices."""
