"""The season's tally: what was dug, laid and hatched, out of what was looked at.

records.py   what it is made of
"""
