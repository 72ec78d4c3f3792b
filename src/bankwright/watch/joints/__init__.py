"""Stage: growth of joints out of ordinary telemetry, against the bank's own baseline."""
