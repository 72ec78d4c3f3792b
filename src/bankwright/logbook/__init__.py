"""Engine: the bank's memory on disk.

Start at logbook/logbook.py: open_logbook(bank_path).
"""
