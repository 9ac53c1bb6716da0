"""How our self-contained pages are made from templates: escaped, and strict about names."""

from __future__ import annotations

import jinja2

_HERE = "nestwatch.report"


def page_templates(package: str = _HERE) -> jinja2.Environment:
    """The templates of a package's folder `templates`, and behind them those of `report/templates`.

    A name that is not given is an error, and text is escaped.
    """
    packages = dict.fromkeys((package, _HERE))
    return jinja2.Environment(
        loader=jinja2.ChoiceLoader([jinja2.PackageLoader(each) for each in packages]),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
