"""Stage: is it still well? The listening service, and a run of the bank for practice."""
