"""Stage: is the design right?"""
