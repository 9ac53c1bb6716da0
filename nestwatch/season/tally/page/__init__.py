"""The season's page: one self-contained HTML file, for phone and paper, or its body for another page.

whole.py      `season_page`, `season_body` and the `season_style` that goes with the body
records.py    what stands on it
fitted.py     how the likelihoods stand, for that section
told.py       the sentences. Pure
view.py       charts and tables as the template shows them
charts.py     attempts by week, hour and group, eggs by female
timeline.py   each female's clutches and when another may come
pen_map.py    a pen with every nest; placing.py its labels
drawing.py    patterns, keys and axes; inline.py a drawing as an element of the page
days.py       days in words. Pure

Nothing here is imported for you: the sentences start without a picture library.
"""
