"""The season's tally: what was dug, laid and hatched, out of what was looked at.

records.py     what it is made of
season.py      `season_of(record, site, year)`: one year tallied, top to bottom
gather.py      from the record to attempts, clutches and places of nests
seen.py        what was looked at, night by night and camera by camera
nights.py      the denominators. Pure
groups.py      attempts in groups, beside what was seen of each. Pure
females.py     days between clutches, and who is due. Pure
performance.py recall and false alarms on this site. Pure
weather.py     the keeper's weather file. Pure
notes.py       what a reader of the numbers must know. Pure
tables.py      all of it as CSV
page/          all of it as a page
"""

WEATHER = "weather.csv"
"""The weather file that is looked for beside the site file."""
