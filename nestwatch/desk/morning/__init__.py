"""The morning page: from the ranked digs of last night to a settled answer for each.

room.py       the site, its nights and its record, opened anew for every request
pages.py      what is read: the morning, one night, the calendar, clutches, entries
entries.py    what is written: each request one call of the record, as the commands make it
media.py      pictures, clips and marking sheets, by what the record names
scrub.py      a night's footage as stills, for a dig that the tool missed
queue.py      which digs come up, in which order, and which is next. Pure
account.py    what the cameras saw of a night, from the record. Pure
bars.py       spans of time as numbers for a bar. Pure
plan.py       a dig on the plan of its pen, as numbers for a drawing. Pure
months.py     a month of nights as a calendar's weeks. Pure
wording.py    the record in the keeper's words. Pure
forms.py      JSON from the page as values, strictly. Pure
"""

from nestwatch.desk.morning.app import morning_app

__all__ = ["morning_app"]
