"""Stage: state of charge of a bank that is watched, with its band for every module and for the bank, or `unknown`.

Blocks of readings (blocks.py) meet a curve with its own doubt (library.py) in a mixture of filters (mixture.py); what
modules in parallel share is used for their differences (apart.py). The door is estimator.py; from day to day, daily.py.
"""
