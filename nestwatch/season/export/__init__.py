"""The season's record for others to read: tables for a spreadsheet, and a Camtrap DP package to pass on.

records.py     a table with typed, described columns
nights.py, digs.py, clutches.py, incubation.py
               the record as tables; incubation's are there only where the record has them
tables.py      all of them, of one year or of all
text.py        a table as CSV
places.py      rounding the site's place, and how far off it then is
sharing.py     what the keeper lets out of the house
deployments.py, media.py, observations.py
               the three tables of Camtrap DP
package.py     its `datapackage.json`
folder.py      what an earlier export left there
write.py       everything into a folder
"""
