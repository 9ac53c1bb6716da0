"""An invented season around an invented night, so that every page has something to show.

story.py    who nests when and where, told from a seed. Pure
nights.py   night files of those nights, without recordings
enter.py    what a keeper would have entered: finds, clutches, boxes, readings, hatchlings
weather.py  a weather file

All of it goes through the same doors as a keeper's entries. Nothing in it is of a real place or animal.
"""
