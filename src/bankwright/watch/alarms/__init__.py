"""Stage: alarms. Rules on what was just heard, raised and cleared as events, and the ways out to people."""
