"""Incubation on the desk: boxes and their eggs, from the day they are put in until hatchlings leave.

app.py        the rooms put together
pages.py      what is read: all boxes, one box, one egg, labels to print, where a label's code leads
views.py      what each page shows, gathered from the record
entries.py    what is written: a form sent, one call of the record, and the page again
kinds.py      each kind of entry as that call, the same that the commands make
logs.py       loggers' files: held while something is asked about them
forms.py      forms as values, strictly. Pure
chart.py      temperatures over time as numbers for a drawing. Pure
wording.py    the commands' words as the page says them. Pure

Forms work without a script; with one, what was typed stays on the page when the program does not answer.
"""
