"""Engine: a pretend rack for tests, demo and practice: modules that answer on a line that it makes itself.

The only room that builds anything to be sent, and it opens only what it makes: a virtual line, a pseudo-terminal, a
port on the loopback address.
"""
