"""Engine: telemetry, what the modules say every second, kept for ten years on a small disk.

Rows come into a hot table, hours are sealed into compressed blocks, minutes and hours of them are summed up for ever.
The one door is store.py.
"""
