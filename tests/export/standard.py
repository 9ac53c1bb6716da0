"""What Camtrap DP 1.0.2 asks for, written down by hand from its table schemas and profile (TDWG, tag 1.0.2).

Only required fields, keys, enumerations, patterns and bounds of the columns that we write. The standard's own
schemas are used beside it where they are at hand (`schemas`).
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from tests.conftest import ROOT

DATETIME = r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(Z|[+-]\d{2}:\d{2})"

REQUIRED = {
    "deployments": {"deploymentID", "latitude", "longitude", "deploymentStart", "deploymentEnd"},
    "media": {"mediaID", "deploymentID", "timestamp", "filePath", "filePublic", "fileMediatype"},
    "observations": {
        "observationID",
        "deploymentID",
        "eventStart",
        "eventEnd",
        "observationLevel",
        "observationType",
    },
}
KEYS = {"deployments": "deploymentID", "media": "mediaID", "observations": "observationID"}
ENUMS = {
    ("deployments", "featureType"): {
        "roadPaved",
        "roadDirt",
        "trailHiking",
        "trailGame",
        "roadUnderpass",
        "roadOverpass",
        "roadBridge",
        "culvert",
        "burrow",
        "nestSite",
        "carcass",
        "waterSource",
        "fruitingTree",
    },
    ("observations", "observationLevel"): {"media", "event"},
    ("observations", "observationType"): {"animal", "human", "vehicle", "blank", "unknown", "unclassified"},
    ("observations", "lifeStage"): {"adult", "subadult", "juvenile"},
    ("observations", "sex"): {"female", "male"},
    ("observations", "classificationMethod"): {"human", "machine"},
}
PATTERNS = {
    ("deployments", "deploymentStart"): DATETIME,
    ("deployments", "deploymentEnd"): DATETIME,
    ("deployments", "coordinateUncertainty"): r"[1-9]\d*",
    ("deployments", "timestampIssues"): "true|false",
    ("deployments", "baitUse"): "true|false",
    ("media", "timestamp"): DATETIME,
    ("media", "filePath"): r"(?=^[^./~])(^((?!\.{2}).)*$).*",
    ("media", "filePublic"): "true|false",
    ("media", "fileMediatype"): "(image|video|audio)/.*",
    ("observations", "eventStart"): DATETIME,
    ("observations", "eventEnd"): DATETIME,
    ("observations", "count"): r"[1-9]\d*",
    ("observations", "classificationTimestamp"): DATETIME,
    ("observations", "classificationProbability"): r"0(\.\d+)?|1(\.0)?",
}
NO_VALUE = {"", "NA", "NaN", "nan"}
PACKAGE = {"resources", "profile", "created", "contributors", "project", "spatial", "temporal", "taxonomic"}
PROJECT = {"title", "samplingDesign", "captureMethod", "individualAnimals", "observationLevel"}
SAMPLING = {
    "simpleRandom",
    "systematicRandom",
    "clusteredRandom",
    "experimental",
    "targeted",
    "opportunistic",
}


def schemas() -> Path | None:
    """The folder with the standard's own JSON schemas, None where they are not at hand."""
    folder = Path(os.environ.get("NESTWATCH_CAMTRAP_DP") or ROOT.parent / "shared" / "camtrap-dp")
    return folder if (folder / "camtrap-dp-profile.json").is_file() else None


def schema(name: str) -> Any:
    """One of them by its file name."""
    folder = schemas()
    assert folder is not None
    return json.loads((folder / name).read_text(encoding="utf-8"))
