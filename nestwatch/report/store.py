"""A finished camera's night kept as JSON in `<night>/work/<camera>.json`, so that it is not done twice."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Literal

from pydantic import ConfigDict, TypeAdapter, ValidationError

from nestwatch.report.files import file_name, write_bytes
from nestwatch.report.records import CameraNight


@dataclass(frozen=True, slots=True)
class _Kept:
    """The file: `key` tells from which footage, settings and version the result was made."""

    # NaN and infinity would become null otherwise, and null means unknown.
    __pydantic_config__ = ConfigDict(ser_json_inf_nan="constants")

    format: Literal["nestwatch-camera/1"]
    key: str
    result: CameraNight


_KEPT = TypeAdapter(_Kept)


def save_camera(folder: Path, camera_night: CameraNight, key: str) -> None:
    """Keep a camera's night in the night's `folder`, whole or not at all; raises `OutputError`."""
    kept = _Kept("nestwatch-camera/1", key, camera_night)
    write_bytes(_path(folder, camera_night.account.camera), _KEPT.dump_json(kept, indent=1))


def load_camera(folder: Path, camera: str, key: str) -> CameraNight | None:
    """The kept night of a camera, or None where it must be done (again).

    None stands for: never finished, damaged, made under another `key`, of another camera, or one of its
    pictures or clips has gone from `folder` since.
    """
    try:
        kept = _KEPT.validate_json(_path(folder, camera).read_bytes())
    except (OSError, ValidationError):
        return None
    night = kept.result
    if kept.key != key or night.account.camera != camera:
        return None
    return night if all((folder / name).is_file() for name in files_of(night)) else None


def _path(folder: Path, camera: str) -> Path:
    return folder / "work" / f"{file_name(camera)}.json"


def files_of(night: CameraNight) -> list[str]:
    """Every picture and clip that a camera's night names, relative to the night's folder."""
    named = chain(
        chain.from_iterable(placed.pictures.values() for placed in night.digs),
        (placed.clip for placed in night.digs),
        (seen.picture for seen in night.visitors),
        (seen.picture for seen in (night.zone_seen,) if seen is not None),
    )
    return [name for name in named if name is not None]
