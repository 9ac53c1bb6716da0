"""A season on the desk: `nestwatch season`'s page among the others, made anew from the record each time.

pages.py      the latest season, any other, and the style that goes with them
"""
