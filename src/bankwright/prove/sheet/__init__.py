"""Stage: the sheet of first power-up: steps, what each reading should be, verdicts as typed."""
