"""What the keeper lets out of the house with a package, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass

from nestwatch.errors import EntryError
from nestwatch.season.export.records import Private


@dataclass(frozen=True, slots=True)
class Sharing:
    """How a package is made; by default nothing in it leads to the animals.

    `exact_places`: the site's place unrounded, and where in the pen the nests are. `public_media`: pictures
    and clips go along. `title` None: the site's name; `contributor` None: as the title. `scientific_name`
    None: not told.
    `data_licence`, `media_licence`: names such as CC-BY-4.0 or addresses of their text; both or neither.
    """

    exact_places: bool = False
    public_media: bool = False
    title: str | None = None
    contributor: str | None = None
    scientific_name: str | None = None
    data_licence: str | None = None
    media_licence: str | None = None

    def __post_init__(self) -> None:
        if (self.data_licence is None) != (self.media_licence is None):
            raise EntryError(
                "the standard wants a licence for the data and one for the media, or none: give both "
                "--data-licence and --media-licence, or neither."
            )

    @property
    def withheld(self) -> set[Private]:
        """Which private columns stay at home: free words always."""
        return {"words"} if self.exact_places else {"words", "place"}
