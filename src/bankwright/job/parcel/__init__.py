"""Job: a bank with everything beside it as one file, to be sent and opened again: `NAME.parcel.zip`.

Gives: belonging.py (what belongs to a bank), pack.py (the file made), unpack.py (looked into, then taken).
Limits: a parcel from elsewhere is hostile until proved: it is shown before it is taken, and nothing is overwritten.
"""
