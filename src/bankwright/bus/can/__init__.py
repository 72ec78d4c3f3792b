"""Engine: frames of a CAN bus by the user's DBC: heard only, never sent, and only where the system says listen-only."""
