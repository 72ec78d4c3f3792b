"""Stage: the capacity test: charge counted down and back up, temperature, rate, weakest cell."""
