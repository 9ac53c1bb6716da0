"""Charts as SVG elements that stand in a page: nothing fetched, no identifier twice, colours of the page.

Styles become attributes, so that a page whose policy forbids inline styles may show them as well.
"""

from __future__ import annotations

import io
import re

from markupsafe import Markup
from matplotlib import rc_context
from matplotlib.figure import Figure

from nestwatch.report import palette
from nestwatch.report.marking.pen_drawing import INK, QUIET

# What a drawing is made of, by the page's names for it: light when drawn, dark where the page is dark.
_NAMES = {colour: name for name, colour in palette.LIGHT.items()} | {INK: "ink", QUIET: "faded"}
_NO_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}
_NOT_OURS = re.compile(r"<!--.*?-->|<style.*?</style>|<metadata.*?</metadata>", re.DOTALL)
_INVISIBLE = re.compile(r'<path d="[^"]*" fill="none"/>|<defs>\s*</defs>|<g>\s*</g>')
_OF_A_FILE = re.compile(r' (?:xmlns(?::\w+)?|version|width|height)="[^"]*"')


def inline_svg(figure: Figure, name: str) -> Markup:
    """A figure as an `<svg>` of the width it is given. `name`: letters that no other drawing of the page has.

    The same figure gives the same text. Letters are outlines: no font has to be there. Colours that are not
    of the palette stay as they are.
    """
    with rc_context({"svg.hashsalt": "nestwatch", "svg.fonttype": "path", "hatch.linewidth": 0.9}):
        out = io.StringIO()
        figure.savefig(out, format="svg", transparent=True, metadata=_NO_METADATA)
    return adopted(out.getvalue(), name)


def adopted(svg: str, name: str, *, coloured: bool = True) -> Markup:
    """An SVG file that this program drew, as an element of a page; `coloured`: in the page's colours."""
    body = _NOT_OURS.sub("", svg[svg.index("<svg") :])
    tag, rest = body[: body.index(">")], body[body.index(">") :]
    tag = f'{_OF_A_FILE.sub("", tag)} aria-hidden="true" stroke-linejoin="round"'
    body = (tag + rest).replace("xlink:href=", "href=")
    body = re.sub(r' style="([^"]*)"', _attributes, body)
    body = _INVISIBLE.sub("", _named(_rounded(body), name))
    body = _coloured(body) if coloured else body
    return Markup(re.sub(r">\s+<", "><", body).strip())


def _attributes(style: re.Match[str]) -> str:
    """`fill: red; stroke: none` as attributes."""
    pairs = [part.split(":", 1) for part in style[1].split(";") if ":" in part]
    return "".join(f' {key.strip()}="{value.strip()}"' for key, value in pairs)


def _rounded(body: str) -> str:
    """Hundredths of a point are enough for places on paper, and one line for a path."""
    return re.sub(r' d="[^"]*"', lambda path: _shortened(path[0]), body)


def _shortened(path: str) -> str:
    return " " + re.sub(r"(\.\d\d)\d+", r"\1", " ".join(path.split()))


def _named(body: str, name: str) -> str:
    """Identifiers that something refers to get the drawing's name before them, others are dropped."""
    used = set(re.findall(r'(?:href="|url\()#([^")]+)', body))

    def owned(found: re.Match[str]) -> str:
        return f' id="{name}-{found[1]}"' if found[1] in used else ""

    body = re.sub(r' id="([^"]*)"', owned, body)
    return re.sub(r'(href="|url\()#', rf"\1#{name}-", body)


def _coloured(body: str) -> str:
    return re.sub(
        r'"(#[0-9a-f]{6})"',
        lambda found: f'"var(--{_NAMES[found[1]]})"' if found[1] in _NAMES else found[0],
        body,
    )
