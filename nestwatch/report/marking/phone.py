"""The same sheets as one self-contained page for a phone: no scripts, nothing fetched, pictures inside."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence

from markupsafe import Markup
from matplotlib import rc_context

from nestwatch.report import palette
from nestwatch.report.marking.pen_drawing import draw_pen
from nestwatch.report.marking.records import Picture, Sheet, Where
from nestwatch.report.marking.setting import Box, paper
from nestwatch.report.marking.steps import CAUTIONS, steps
from nestwatch.report.templating import page_templates
from nestwatch.site.records import Units

_PLAN_MM = 72.0  # about as wide as a phone held upright is
_TALLEST_MM = 105.0


def phone_page(sheets: Sequence[Sheet], units: Units, *, head: str, version: str) -> str:
    """The page as HTML. `head`: site and night. Names are escaped wherever they come from."""
    environment = page_templates()
    environment.filters.update(
        source=_source, plan=lambda where: plan_svg(where, units), steps=lambda sheet: _steps(sheet, units)
    )
    return environment.get_template("marking.html.j2").render(
        sheets=sheets, head=head, version=version, cautions=CAUTIONS, light=palette.LIGHT, dark=palette.DARK
    )


def _steps(sheet: Sheet, units: Units) -> object:
    return steps(units, measured=sheet.where is not None)


def _source(picture: Picture) -> str | None:
    """A data URI, None where the picture is missing."""
    if picture.jpeg is None:
        return None
    return "data:image/jpeg;base64," + base64.b64encode(picture.jpeg).decode("ascii")


def plan_svg(where: Where, units: Units) -> Markup:
    """The pen's plan as an SVG element; the same plan gives the same text."""
    # Salted names and no date: the same bytes every time. Text as outlines: no font has to be on the phone.
    with rc_context({"svg.hashsalt": "nestwatch", "svg.fonttype": "path"}):
        _, axes = paper(_PLAN_MM, _TALLEST_MM)
        height = draw_pen(axes, where, Box(0, 0, _PLAN_MM, _TALLEST_MM), units, told=False)
        figure, axes = paper(_PLAN_MM, height)
        draw_pen(axes, where, Box(0, 0, _PLAN_MM, _TALLEST_MM), units, told=False)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    text = out.getvalue()
    return Markup(text[text.index("<svg") :])  # drawn by us, and names in it are outlines of letters
