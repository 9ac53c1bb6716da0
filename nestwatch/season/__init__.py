"""The season's record: one SQLite file in the site's folder, and everything that is entered into it.

open.py        `open_record(site)` -> `Record`, the one door to the file; `Record.writing(...)` the one way in
records.py     what is read out: frozen, typed
nights.py      nights scanned, with their footage account; a night scanned again keeps its finds
digs.py        digs by night, open digs with hours since laying, digs added by hand
finds.py       what the keeper found on digging
clutches.py    eggs by state, when laid and lifted, of which female
females.py     who she is, with her photograph (photographs.py)
watched.py     nights watched by eye
journal.py     every change with its time and what was there before; undoing
backups.py     copies of the record, and going back to one
matching.py    which dig of a new scan is which of the record. Pure
years.py       the nesting season of a year, and which year a night counts for. Pure
second_clutch.py
               when a female's next clutch may come. Pure
tally/         the season's tally
when.py, eggs.py   what keepers type: hours of a night, counts. Pure

Nothing here is imported for you: the parts that need no picture library start fast.
"""
