"""Files -> timed frames: finding recordings, placing them on the wall clock, skimming, bursts, pictures."""

from nestwatch.footage.burst import read_burst
from nestwatch.footage.discover import find_footage
from nestwatch.footage.pictures import read_pictures
from nestwatch.footage.records import (
    Account,
    Burst,
    Footage,
    Gap,
    Recording,
    SkimFrame,
    Unreadable,
)
from nestwatch.footage.skim import Skim
from nestwatch.footage.stamps import propose_stamp

__all__ = [
    "Account",
    "Burst",
    "Footage",
    "Gap",
    "Recording",
    "Skim",
    "SkimFrame",
    "Unreadable",
    "find_footage",
    "propose_stamp",
    "read_burst",
    "read_pictures",
]
