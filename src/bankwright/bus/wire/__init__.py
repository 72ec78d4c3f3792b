"""Engine: the only rooms that touch a port: a serial line, a TCP connection."""
