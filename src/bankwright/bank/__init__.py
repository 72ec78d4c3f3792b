"""What stands there: the bank file, the model, patterns unfolded to named things."""
