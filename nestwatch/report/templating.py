"""How our self-contained pages are made from templates: escaped, and strict about names."""

from __future__ import annotations

import jinja2


def page_templates() -> jinja2.Environment:
    """The templates of `report/templates`; a name that is not given is an error, and text is escaped."""
    return jinja2.Environment(
        loader=jinja2.PackageLoader("nestwatch.report"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
