"""Engine: telemetry saved out of a damaged file, by the engine where it reaches and by the bytes where it does not.

The one door is rescue.py.
"""
