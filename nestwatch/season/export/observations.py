"""`observations` of Camtrap DP 1.0.2: one event for each dig that a camera saw. Pure.

What the keeper found comes before what the program thought: the standard asks for the latest classification.
The program's call and likelihood stay among the tags. `classificationProbability` is given only where our
number means that: it is the likelihood that eggs lie there, hence the certainty of the call `nest` only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nestwatch.season.export.deployments import deployment_id
from nestwatch.season.export.records import Field, Row, Table
from nestwatch.season.records import Clutch, Dig, Night

_FIELDS = (
    Field("observationID", "string", "`dig-` and the id in the table digs."),
    Field("deploymentID", "string", "Night and camera."),
    Field("mediaID", "string", "Always empty: events have none."),
    Field("eventID", "string", "The event."),
    Field("eventStart", "datetime", "When the stay began."),
    Field("eventEnd", "datetime", "When it ended."),
    Field("observationLevel", "string", "event."),
    Field("observationType", "string", "animal, or unknown where the call is unclear or was set aside."),
    Field("scientificName", "string", "The species."),
    Field("count", "integer", "1."),
    Field("lifeStage", "string", "adult where it nested."),
    Field("sex", "string", "female where it nested."),
    Field("behavior", "string", "nesting, digging, resting."),
    Field("individualID", "string", "The female, where the clutch has one."),
    Field("classificationMethod", "string", "human where the keeper entered a find or the dig."),
    Field("classifiedBy", "string", "The program and its version are in the package's sources."),
    Field("classificationTimestamp", "datetime", "When it was entered, or the night scanned."),
    Field("classificationProbability", "number", "Of a nest called by the program."),
    Field("observationTags", "string", "call, nestLikelihood, found, source."),
)
_BEHAVIOUR = {"nest": "nesting|digging", "trial": "digging", "rest": "resting"}
# Cells that the standard reads as "no value".
_NOTHING = {"", "NA", "NaN", "nan"}


@dataclass(frozen=True, slots=True)
class _Class:
    """What a dig is taken for, and who says so."""

    kind: str
    behaviour: str | None
    human: bool


def observations_table(
    nights: Sequence[Night], clutches: Sequence[Clutch], deployments: Table, scientific_name: str | None
) -> Table:
    """The table. Digs without a camera, or of a night that it did not record, are no camera's observation."""
    known = {row["deploymentID"] for row in deployments.rows}
    of_dig = {clutch.dig: clutch for clutch in clutches}
    rows = tuple(
        _row(night, dig, of_dig, scientific_name)
        for night in nights
        for dig in night.digs
        if dig.camera is not None and deployment_id(night.date, dig.camera) in known
    )
    return Table("observations", "Digs and rests that cameras saw.", _FIELDS, rows)


def _row(night: Night, dig: Dig, clutches: Mapping[int, Clutch], scientific_name: str | None) -> Row:
    told = _classified(dig)
    nests = told.behaviour is not None and told.behaviour.startswith("nesting")
    animal = told.kind == "animal"
    by_program = not told.human and dig.call == "nest"
    female = clutches[dig.id].female if dig.id in clutches else None
    return {
        "observationID": f"dig-{dig.id}",
        "deploymentID": deployment_id(night.date, dig.camera or ""),
        "mediaID": None,
        "eventID": f"dig-{dig.id}",
        "eventStart": dig.start,
        "eventEnd": dig.end,
        "observationLevel": "event",
        "observationType": told.kind,
        "scientificName": scientific_name if animal else None,
        "count": 1 if animal else None,
        "lifeStage": "adult" if nests else None,
        "sex": "female" if nests else None,
        "behavior": told.behaviour,
        "individualID": f"female {female}" if female in _NOTHING else female,
        "classificationMethod": "human" if told.human else "machine",
        "classifiedBy": "keeper" if told.human else "nestwatch",
        "classificationTimestamp": dig.find.entered_at if told.human and dig.find else night.scanned_at,
        "classificationProbability": dig.likelihood if by_program else None,
        "observationTags": _tags(dig),
    }


def _classified(dig: Dig) -> _Class:
    found = None if dig.find is None else dig.find.found
    human = found in {"eggs", "empty", "set-aside"} or dig.source != "scan"
    if found == "eggs":
        return _Class("animal", _BEHAVIOUR["nest"], human)
    if found == "set-aside" or (dig.call == "unclear" and found != "empty"):
        return _Class("unknown", None, human)
    if found == "empty" and dig.call != "rest":
        return _Class("animal", "digging", human)
    return _Class("animal", _BEHAVIOUR.get(dig.call or "trial", "digging"), human)


def _tags(dig: Dig) -> str:
    """`call:nest|nestLikelihood:0.93|found:eggs|source:scan`."""
    tags = {
        "call": dig.call,
        "nestLikelihood": None if dig.likelihood is None else f"{dig.likelihood:.2f}",
        "found": None if dig.find is None else dig.find.found,
        "source": dig.source,
    }
    return "|".join(f"{name}:{value}" for name, value in tags.items() if value is not None)
