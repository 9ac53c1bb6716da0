"""Enters females into the record of a folder, one after the other, and prints each name once it is confirmed.

Run by the test of kills: `python -m tests.season.enter_until_killed FILE PREFIX`. It imports little, so that
many starts are cheap.
"""

from __future__ import annotations

import sys
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

from nestwatch.season.open import open_file

if __name__ == "__main__":
    with open_file(Path(sys.argv[1]), ZoneInfo("Europe/Paris")) as record:
        for number in count():
            name = f"{sys.argv[2]}-{number}"
            with record.writing(f"female {name}") as writer:
                row = writer.add("female", {"name": name, "note": "x" * 500})
                writer.change("female", row, {"marks": name})
            print(name, flush=True)
