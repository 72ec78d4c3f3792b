"""Face: the command line: thin shells over the job."""
