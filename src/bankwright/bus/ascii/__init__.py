"""Engine: ASCII frames of the telecom power standard YD/T 1363, from memory: requests, replies, checks."""
