"""Stage: how a bank runs, out of its hours: warmth, standing draw, round trip, time outside limits, trips.

Five sections of Watch: temperature.py, draw.py, efficiency.py, outside.py, trips.py; what they read is in hours.py.
"""
