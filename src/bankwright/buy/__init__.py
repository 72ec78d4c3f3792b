"""What do I need, and how many?"""
