"""Is the design right?"""
