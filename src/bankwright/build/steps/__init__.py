"""Stage: the steps of the sheet, a room of the work each."""
