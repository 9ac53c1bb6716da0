"""Light spells: stretches of a night seen in one kind of light (colour day, grey infrared)."""

from __future__ import annotations

_COLOUR_ON = 2.5
_COLOUR_OFF = 1.5


class SpellCounter:
    """Numbers light spells as bins go by. `changed` is True until somebody who cares resets it.

    Colour is told from grey by the mean distance of the chroma planes from neutral, with two thresholds
    so that a flickering dusk makes one change and not ten. NaN (no chroma planes) counts as grey.
    """

    def __init__(self) -> None:
        self.changed = False
        self._count = -1
        self._colour: bool | None = None

    def number(self, chroma: float) -> int:
        """The spell's number (0, 1, …) for a bin of this mean `chroma`, in levels."""
        threshold = _COLOUR_OFF if self._colour else _COLOUR_ON
        colour = chroma > threshold
        if colour != self._colour:
            self._colour = colour
            self._count += 1
            self.changed = True
        return self._count
