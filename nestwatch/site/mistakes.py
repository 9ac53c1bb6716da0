"""One mistake in a site file, and how what pydantic found becomes words for a keeper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from nestwatch.site.names import did_you_mean, nearest
from nestwatch.site.places import Path
from nestwatch.site.schema import SiteFile


@dataclass(frozen=True, slots=True)
class Mistake:
    """`path`: where in the file; `text`: what is wrong and what to do, without a full stop at the end.

    `line_path`: what the line number is taken from, None where that is `path`.
    """

    path: Path
    text: str
    line_path: Path | None = None


def from_pydantic(error: ValidationError) -> list[Mistake]:
    """Every mistake of form, unknown keys first since they explain missing ones."""
    items = error.errors()
    unknown = [item for item in items if item["type"] == "extra_forbidden"]
    # A misspelt key is one mistake, not also a missing one.
    meant = {(*item["loc"][:-1], _meant(item["loc"])) for item in unknown}
    others = [item for item in items if item not in unknown and item["loc"] not in meant]
    return [_mistake(item) for item in (*unknown, *others)]


def _mistake(item: Mapping[str, Any]) -> Mistake:
    path = tuple(item["loc"])
    if item["type"] == "extra_forbidden":
        return Mistake(path[:-1], _unknown(path), line_path=path)
    if item["type"] == "missing":
        return Mistake(path, _missing(path))
    return Mistake(path, _wrong(item))


def _unknown(path: Path) -> str:
    keys = list(_model_at(path[:-1]).model_fields)
    near = _meant(path)
    remedy = f'did you mean "{near}"?' if near else f"take it out; keys here are {', '.join(keys)}"
    return f'unknown key "{path[-1]}"; {remedy}'


def _meant(path: Path) -> str | None:
    """The known key that an unknown one was probably meant to be."""
    return nearest(str(path[-1]), _model_at(path[:-1]).model_fields)


def _missing(path: Path) -> str:
    key = str(path[-1])
    if len(path) == 1 and key != "format":
        header = f"[[{key}]]" if key == "camera" else f"[{key}]"
        return f"missing; add a table {header} (docs/site-file.md shows one)"
    field = _model_at(path[:-1]).model_fields[key]
    return f"missing; add for example {key} = {as_toml((field.examples or ['...'])[0])}"


def as_toml(value: object) -> str:
    """A value as it is written in a TOML file."""
    if isinstance(value, list):
        return f"[{', '.join(map(as_toml, value))}]"
    return f'"{value}"' if isinstance(value, str) else f"{value}"


def _wrong(item: Mapping[str, Any]) -> str:
    kind, value, context = item["type"], item["input"], item.get("ctx", {})
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        return _not_one_of(value, context["expected"])
    if kind in {"greater_than_equal", "less_than_equal"}:
        bound = f"at least {context['ge']:g}" if "ge" in context else f"at most {context['le']:g}"
        return f"{as_toml(value)} is out of range; it must be {bound}"
    if kind == "tuple_type" and isinstance(value, dict):
        return f"may be there several times, so it is written [[{item['loc'][-1]}]] with two brackets"
    return _WRONG_TYPE.get(kind, str(item["msg"])).format(value=_short(value))


def _not_one_of(value: object, expected: str) -> str:
    known = [word.strip("'") for word in expected.replace(" or ", ", ").split(", ")]
    if known == ["nestwatch-site/1"]:
        return f'{as_toml(value)} is not a format this version reads; write format = "nestwatch-site/1"'
    hint = did_you_mean(str(value), known)
    return f"{as_toml(value)} is not known; write {_alternatives(known)}{hint}"


def _alternatives(words: list[str]) -> str:
    quoted = [f'"{word}"' for word in words]
    return " or ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted)


def _short(value: object) -> str:
    text = as_toml(value)
    return text if len(text) <= 40 else text[:37] + "..."


_WRONG_TYPE = {
    "string_type": "must be text in quotes, not {value}",
    "string_too_short": "is empty; write something between the quotes",
    "float_type": "must be a number without quotes, not {value}",
    "finite_number": "must be an ordinary number, not {value}",
    "int_type": "must be a whole number without quotes, not {value}",
    "bool_type": "must be true or false, not {value}",
    "int_from_float": "must be a whole number, not {value}",
    "tuple_type": "must be a list in square brackets, not {value}",
    "model_type": "must be a table, not {value}",
    "model_attributes_type": "must be a table, not {value}",
}


def _model_at(path: Path) -> type[BaseModel]:
    """The model that describes the table at a path."""
    model: type[BaseModel] = SiteFile
    for step in path:
        if isinstance(step, str):
            model = _inner_model(model.model_fields[step].annotation)
    return model


def _inner_model(annotation: Any) -> type[BaseModel]:
    inner = [annotation, *get_args(annotation)]
    return next(kind for kind in inner if isinstance(kind, type) and issubclass(kind, BaseModel))
