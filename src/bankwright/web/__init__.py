"""Face: the local page: the same calls as the command line, in a browser beside the rack."""
