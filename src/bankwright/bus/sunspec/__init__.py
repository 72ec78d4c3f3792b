"""Engine: devices that tell their own registers: a chain of SunSpec models, walked, read, and never written."""
