"""The house (DEVELOPERS.md): who may import whom, which folders do no I/O, public names, sizes."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import statistics
import types
from collections.abc import Iterator
from pathlib import Path

import pytest

import nestwatch

ROOT = Path(nestwatch.__file__).parent

# Data flows down this list. The job's two modules stand where they belong in it, between what they call.
ORDER = [
    "errors",
    "shares",
    "writing",
    "site",
    "footage",
    "ground",
    "nesting",
    "report",
    "camera_night",
    "camera_view",
    "whole_night",
    "night",
    "unattended",
    "season",
    "desk",
    "synthetic",
    "demo",
    "commands",
    "__main__",
]
# The renderer of invented nights shares nothing with what is judged by it. (`shares` is for the scoring.)
APART = {"synthetic": {"errors", "shares", "site", "synthetic"}}

PURE = ["ground", "nesting"]
MAY_IMPORT = {
    "__future__", "bisect", "collections", "cv2", "dataclasses", "datetime", "enum", "functools", "itertools",
    "math", "numpy", "operator", "scipy", "shapely", "skimage", "typing", "warnings",
}  # fmt: skip
MAY_IMPORT_OURS = {"nestwatch.errors", "nestwatch.footage.records", "nestwatch.site.records"}
FORBIDDEN_CALLS = {"open", "print", "input", "exec", "eval", "__import__", "breakpoint"}
FORBIDDEN_ATTRIBUTES = {
    # files, by whatever library
    "imread", "imwrite", "imdecode", "imencode", "VideoCapture", "VideoWriter", "FileStorage", "load", "save",
    "savez", "savetxt", "loadtxt", "genfromtxt", "fromfile", "tofile", "memmap", "imsave", "open",
    "read_text", "write_text", "read_bytes", "write_bytes",
    # the clock
    "now", "today", "utcnow",
}  # fmt: skip


def files(folder: str) -> list[Path]:
    """The Python files of a folder or module of the package."""
    place = ROOT / folder
    return sorted(place.rglob("*.py")) if place.is_dir() else [place.with_suffix(".py")]


def parse(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imports(tree: ast.AST) -> Iterator[str]:
    """Dotted names of all that is imported anywhere in it, in functions and for type checking too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute in this house"
            yield from (f"{node.module}.{name.name}" for name in node.names)


def ours(tree: ast.AST) -> set[str]:
    """The rooms of the house that are imported."""
    parts = [name.split(".") for name in imports(tree)]
    return {part[1] for part in parts if part[0] == "nestwatch" and len(part) > 1} - {"__version__"}


def rooms() -> list[str]:
    """Every folder and module at the top of the package."""
    return sorted({module.name for module in pkgutil.iter_modules([str(ROOT)])} | {"__main__"})


def test_every_room_has_its_place_in_the_order() -> None:
    assert set(rooms()) <= set(ORDER)


@pytest.mark.parametrize("room", rooms())
def test_a_room_imports_only_from_above(room: str) -> None:
    above = APART.get(room, set(ORDER[: ORDER.index(room) + 1]))
    for path in files(room):
        below = ours(parse(path)) - above
        assert not below, f"{path.relative_to(ROOT)} imports {sorted(below)}"


@pytest.mark.parametrize(
    ("line", "room"),
    [
        ("def f():\n    from nestwatch.report import files", "report"),
        ("import nestwatch.commands.main", "commands"),
        ("from nestwatch import night", "night"),
    ],
)
def test_imports_are_seen_wherever_they_stand(line: str, room: str) -> None:
    assert ours(ast.parse(line)) == {room}


def is_allowed(name: str, room: str) -> bool:
    """Whether a pure folder may import a dotted name."""
    if name.split(".")[0] != "nestwatch":
        return name.split(".")[0] in MAY_IMPORT
    above = [f"nestwatch.{pure}" for pure in PURE[: PURE.index(room) + 1]]
    return any(name == door or name.startswith(f"{door}.") for door in (*MAY_IMPORT_OURS, *above))


def impurities(tree: ast.AST, room: str) -> list[str]:
    """What a pure folder may not do: imports that could reach files or clocks, and calls that would."""
    found = [f"imports {name}" for name in imports(tree) if not is_allowed(name, room)]
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            found += [f"calls {node.func.id}()"] if node.func.id in FORBIDDEN_CALLS else []
        elif isinstance(node, ast.Attribute) and node.attr in FORBIDDEN_ATTRIBUTES:
            found.append(f"uses .{node.attr}")
    return found


@pytest.mark.parametrize(
    "path", [p for room in PURE for p in files(room)], ids=lambda p: f"{p.parent.name}/{p.name}"
)
def test_ground_and_nesting_do_no_io(path: Path) -> None:
    assert impurities(parse(path), path.relative_to(ROOT).parts[0]) == []


@pytest.mark.parametrize(
    "line",
    [
        "import av",
        "import os",
        "from pathlib import Path",
        "import io",
        "import sqlite3",
        "import time",
        "from nestwatch.footage import read_burst",
        "from nestwatch.footage.skim import Skim",
        "from nestwatch.site.file import load_site",
        "from nestwatch.report.files import write_bytes",
        "open('x')",
        "import numpy as np; np.load('x')",
        "import cv2; cv2.imread('x')",
        "from datetime import datetime; datetime.now()",
    ],
)
def test_the_rule_catches_what_it_is_for(line: str) -> None:
    assert impurities(ast.parse(line), "nesting")


def test_ground_may_not_look_down_into_nesting() -> None:
    assert impurities(ast.parse("from nestwatch.nesting.records import Dig"), "ground")
    assert not impurities(ast.parse("from nestwatch.ground.records import Bins"), "nesting")


PACKAGES = ["nestwatch"] + [
    f"nestwatch.{module.name}" for module in pkgutil.iter_modules([str(ROOT)]) if module.ispkg
]


@pytest.mark.parametrize("name", PACKAGES)
def test_the_public_list_is_what_a_package_gives_away(name: str) -> None:
    """`__all__` is sorted, every name is there, and nothing of the package's own is public beside it."""
    package = importlib.import_module(name)
    listed = list(getattr(package, "__all__", []))
    own = {
        key
        for key, value in vars(package).items()
        if not key.startswith("_")
        and not isinstance(value, types.ModuleType)
        and str(getattr(value, "__module__", "")).startswith(f"{name}.")
    }
    assert listed == sorted(listed)
    assert own | set(listed) == set(listed)
    assert all(hasattr(package, key) for key in listed)


def bodies() -> list[int]:
    """Lines of every function of the package, without signature and docstring."""
    lengths = []
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(parse(path)):
            if isinstance(node, ast.FunctionDef):
                body = node.body[1:] if ast.get_docstring(node) else node.body
                lengths.append(int(body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0)
    return lengths


def test_functions_are_small() -> None:
    lengths = sorted(bodies())
    assert statistics.median(lengths) <= 8
    assert lengths[int(0.9 * len(lengths))] <= 25


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_files_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400
