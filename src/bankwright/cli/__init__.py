"""The command line: thin shells over the job."""
