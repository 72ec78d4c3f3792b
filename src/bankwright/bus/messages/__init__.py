"""Engine: what the information of ASCII frames means: a message map that a person writes, and values out of it."""
