"""In what order, how tight?"""
