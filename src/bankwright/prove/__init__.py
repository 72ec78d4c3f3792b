"""Stage: does the bank do what was computed?"""
