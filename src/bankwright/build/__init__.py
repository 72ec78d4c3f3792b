"""Stage: in what order, how tight?"""
