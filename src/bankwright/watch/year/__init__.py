"""Stage: a pretend year: what the modules of a bank would say while an invented house lives on it."""
