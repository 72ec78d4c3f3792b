"""Engine: frames of Modbus, RTU and TCP: requests that only read, replies, and what others say on the line."""
