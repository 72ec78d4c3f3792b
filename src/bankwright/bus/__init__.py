"""Engine: listening on the data bus, read-only: requests that can only read, a survey that explains, a pretend rack.

Gives: rooms modbus (frames), map (what registers mean), wire (the only things that touch a port), survey, pretend; and
timing.py, exchange.py, poll.py.
Limits: nothing in here can write to a module; storage of what is heard is in logbook/, joined in watch/.
"""
