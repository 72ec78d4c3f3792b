"""Stage: taking apart, the dead bank first, then cable by cable."""
