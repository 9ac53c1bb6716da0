"""Any logger's text file to readings: what can be told from the file is told, what cannot is asked for. Pure.

read.py      `read_log(content, zone, now, choices)` -> `Log`, top to bottom
text.py      bytes to lines and fields: encoding, delimiter
columns.py   which column is what; preamble and header
decimals.py  decimal point or comma
dates.py     day, month and year; clock times
clock.py     wall times to instants, through the clock changes
units.py     degrees Celsius or Fahrenheit

Every refusal is one line that names the option which settles it.
"""
