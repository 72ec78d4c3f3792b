"""May these modules be joined?"""
