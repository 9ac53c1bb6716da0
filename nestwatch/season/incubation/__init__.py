"""Incubation: boxes and their eggs, what the probes read, when hatchlings are due, what came of it.

profile.py, sources.py   species profiles: TOML files with their sources, the program's and the keeper's
development.py           share of development a day by temperature; constant-temperature equivalent. Pure
course.py                development so far from readings, with bounds where there are none. Pure
window.py                hatch windows with their reasons. Pure
sex.py                   what temperature says of sex, where a source says anything. Pure
alerts.py                what wants doing now. Pure
logger/                  any logger's CSV file to readings. Pure
containers.py, eggs.py   boxes; which egg of which clutch lies where
probes.py, readings.py   probes; their readings, taken in once
checks.py, hatchings.py  candling, weighing, losses; what hatched; head-start measurements
agree.py                 a clutch changed later agrees with its eggs in boxes
expected.py              all of it joined for the keeper
labels.py, calendar.py   PDF labels with a QR code; iCalendar

Nothing here replaces a vet, a licence or local law.
"""
