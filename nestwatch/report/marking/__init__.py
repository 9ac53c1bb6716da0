"""The marking sheet: where to put the stake this morning, on paper and on a phone.

read_night(folder)                    the night file, or one line on why there is none
chosen_digs(document, ranks)          which digs get a sheet
make_marking(site, document, ...)     the sheets, without writing them
write_marking(site, document, ...)    marking.pdf and marking.html, in the night's folder
"""

from __future__ import annotations

from nestwatch.report.marking.choose import chosen_digs, read_night
from nestwatch.report.marking.writing import Made, Marked, make_marking, write_marking

__all__ = ["Made", "Marked", "chosen_digs", "make_marking", "read_night", "write_marking"]
