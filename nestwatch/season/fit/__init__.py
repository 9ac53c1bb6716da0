"""The likelihood fitted to the keeper's own finds.

records.py      what a fit is made of and what it says
entries.py      the record's settled digs as entries
reliability.py  claimed against found: bins, Brier score, the diagram
scale.py        the two numbers, and what they give to nights left out
fits.py         a fit entered into the record, and which is in force
state.py        how it stands, for a page or a command
"""
