"""Stage: what do I need, and how many?"""
