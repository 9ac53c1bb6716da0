"""Species profiles: TOML files with their sources, the program's own and those in the site's `profiles/`."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from pydantic import ValidationError

from nestwatch.errors import EntryError
from nestwatch.season.incubation.development import DaysTable, DegreeDays, Model
from nestwatch.season.incubation.profile_schema import Part, ProfileFile, SpanPart
from nestwatch.season.incubation.sources import Days, Source, Span
from nestwatch.site.names import did_you_mean

if TYPE_CHECKING:
    from nestwatch.site.records import Site

FOLDER = "profiles"
"""Beside the site file: the keeper's own profiles, `<key>.toml`."""
OF_THE_SITE = "site"
"""The profile made of what the site file says of its animal."""


@dataclass(frozen=True, slots=True)
class Sex:
    """What a source says of sex by temperature.

    `by_temperature` False: sex does not depend on it. `mixed`: temperatures around which both sexes hatch,
    degrees Celsius, one or two. `band_c`: how far from them both are still to be expected. `warmer`: which
    sex comes above the warmest of them, None where the source does not say. `note`: the source in words.
    """

    by_temperature: bool
    mixed: tuple[Span, ...]
    band_c: float
    warmer: Literal["females", "males"] | None
    source: Source
    note: str | None


@dataclass(frozen=True, slots=True)
class Profile:
    """One species, or one keeper's way with it. None and empty: nothing is known.

    `aim_c`: the temperatures to keep; `alarm_c`: beyond these an alert is due at once. `second_clutch`: days
    from one clutch to the next of the same female.
    """

    key: str
    name: str
    latin: str | None
    aim_c: Span | None
    alarm_c: Span | None
    humidity: Span | None
    days: tuple[Days, ...]
    model: Model | None
    model_source: Source | None
    sex: Sex | None
    second_clutch: Span | None
    note: str | None


def profiles(site: Site) -> dict[str, Profile]:
    """Every profile by key: the program's, then the keeper's (which take their place), then the site file's.

    Raises `EntryError` for a file that is wrong.
    """
    found = {key: read_profile(key, text, str(name)) for key, text, name in _files(site)}
    found[OF_THE_SITE] = of_site(site)
    return found


def profile_called(site: Site, name: str | None) -> Profile:
    """The profile of that key or name; None for the one that fits the site's animal.

    What the site file says of days and temperatures stands beside the profile that fits it. Raises
    `EntryError`.
    """
    known = profiles(site)
    if name is None:
        own = known.pop(OF_THE_SITE)
        fitting = next((each for each in known.values() if _is(each, site.animal.name)), None)
        return own if fitting is None else _joined(fitting, own)
    chosen = next((each for each in known.values() if _is(each, name)), None)
    if chosen is None:
        hint = did_you_mean(name, known) or f"; there are {', '.join(sorted(known))}."
        raise EntryError(f'there is no species profile "{name}"{hint}')
    return chosen


def _is(profile: Profile, name: str) -> bool:
    return name.strip().casefold() in {
        each.casefold() for each in (profile.key, profile.name, profile.latin or "") if each
    }


def _joined(profile: Profile, own: Profile) -> Profile:
    return replace(profile, aim_c=own.aim_c or profile.aim_c, days=(*own.days, *profile.days))


def of_site(site: Site) -> Profile:
    """What the site file says of its animal, as a profile."""
    animal, source = site.animal, Source("the site file", "own")
    aim = None if animal.incubation_c is None else Span(*animal.incubation_c, source)
    days = animal.incubation_days
    told = () if days is None else (Days(Span(*days, source), animal.incubation_c),)
    return Profile(OF_THE_SITE, animal.name, None, aim, None, None, told, None, None, None, None, None)


def read_profile(key: str, text: str, name: str) -> Profile:
    """A profile from the text of its file, called `name` in messages. Raises `EntryError` with one line."""
    try:
        return _profile(key, ProfileFile.model_validate(tomllib.loads(text)))
    except tomllib.TOMLDecodeError as error:
        raise EntryError(f"{name}: is not valid TOML ({error}); look near there.") from None
    except ValidationError as error:
        raise EntryError(f"{name}: {_mistake(error)} (docs/incubation.md shows the form).") from None


def _mistake(error: ValidationError) -> str:
    """The first mistake of a file: where and what, and how many more."""
    found = error.errors()
    first = found[0]
    place = ".".join(str(part) for part in first["loc"]) or "the file"
    what = {"extra_forbidden": "this key is not known", "missing": "is missing"}.get(first["type"])
    more = f"; {len(found) - 1} more" if len(found) > 1 else ""
    return f"{place}: {what or first['msg'].removeprefix('Value error, ')}{more}"


def _files(site: Site) -> Iterator[tuple[str, str, Traversable | Path]]:
    """(key, text, file) of every profile, the keeper's last."""
    shipped = resources.files("nestwatch.season.incubation") / "species"
    own = site.path.parent / FOLDER
    files: list[Traversable | Path] = sorted(shipped.iterdir(), key=lambda each: each.name)
    files += sorted(own.glob("*.toml")) if own.is_dir() else []
    for file in files:
        if file.name.endswith(".toml"):
            yield _key(file.name), _text(file), file


def _key(name: str) -> str:
    return re.sub(r"\s+", "-", name.removesuffix(".toml").casefold())


def _text(file: Traversable | Path) -> str:
    try:
        return file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise EntryError(f"{file}: cannot be read ({error.strerror}); check who may read it.") from error
    except UnicodeDecodeError:
        raise EntryError(f"{file}: is not text in UTF-8; save it again as UTF-8.") from None


def _profile(key: str, file: ProfileFile) -> Profile:
    sources = {name: Source(part.words, part.read) for name, part in file.source.items()}

    def span(part: SpanPart | None) -> Span | None:
        return None if part is None else Span(part.low, part.high, _source(sources, part))

    return Profile(
        key,
        file.name,
        file.latin,
        span(file.incubation.aim_c),
        span(file.incubation.alarm_c),
        span(file.incubation.humidity),
        tuple(
            Days(Span(each.low, each.high, _source(sources, each)), each.at_c)
            for each in file.incubation.days
        ),
        _model(file),
        None if file.development is None else _source(sources, file.development),
        _sex(sources, file),
        span(file.second_clutch),
        file.note,
    )


def _source(sources: dict[str, Source], part: Part) -> Source | None:
    return None if part.source is None else sources[part.source]


def _model(file: ProfileFile) -> Model | None:
    part = file.development
    if part is None:
        return None
    if part.points:
        return DaysTable(*zip(*part.points, strict=True))
    assert part.threshold_c is not None
    assert part.degree_days is not None
    assert part.within_c is not None
    return DegreeDays(part.threshold_c, part.degree_days, part.within_c)


def _sex(sources: dict[str, Source], file: ProfileFile) -> Sex | None:
    """None without a source: nothing is said of sex then."""
    part = file.sex
    source = None if part is None else _source(sources, part)
    if part is None or source is None:
        return None
    mixed = tuple(Span(each, each, source) for each in sorted(part.mixed_c))
    return Sex(part.by_temperature, mixed, part.band_c, part.warmer, source, part.note)
