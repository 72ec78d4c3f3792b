"""Engine: files from elsewhere: delimited text of other programs, understood, shown, and brought into telemetry.

What is read is proposed with its reason and confirmed by a person; what has two meanings is asked, never guessed.
Nothing is sorted, filled in or left out without being counted and named. The one door is bring.py.
"""
