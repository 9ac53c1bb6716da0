"""The season's page from its parts."""

from __future__ import annotations

import base64
from typing import Any

import jinja2
from markupsafe import Markup

import nestwatch
from nestwatch.report import palette
from nestwatch.report.templating import page_templates
from nestwatch.season.tally.page import told, view
from nestwatch.season.tally.page.days import day_list
from nestwatch.season.tally.page.inline import adopted
from nestwatch.season.tally.page.records import Fitted
from nestwatch.season.tally.records import Season
from nestwatch.site.records import Site


def season_page(season: Season, site: Site, *, fit: Fitted | None = None) -> str:
    """The whole page. Names are escaped wherever they come from. `fit` None: likelihoods are as built."""
    return (
        _environment()
        .get_template("season.html.j2")
        .render(**_shown(season, site, fit), light=palette.LIGHT, dark=palette.DARK, alone=True)
    )


def season_body(season: Season, site: Site, *, fit: Fitted | None = None) -> str:
    """The page's content without head and style, for a page that has a first heading of its own.

    It needs `season_style()` and the colours of `report.palette` as custom properties.
    """
    return _environment().get_template("body.html.j2").render(**_shown(season, site, fit), alone=False)


def season_style() -> str:
    """CSS for `season_body`; every rule is for elements inside `.season`."""
    return _environment().get_template("season.css.j2").render()


def _environment() -> jinja2.Environment:
    environment = page_templates("nestwatch.season.tally.page")
    environment.filters.update(image=_image, labelled=told.labelled)
    return environment


def _shown(season: Season, site: Site, fit: Fitted | None) -> dict[str, Any]:
    """What the templates name."""
    nights = season.nights
    return {
        "season": season,
        "version": nestwatch.__version__,
        "headline": told.headline(season),
        "unseen": told.not_seen(nights),
        "unseen_days": day_list(nights.unseen_nights),
        "counted": told.counted_nights(nights),
        "kinds": told.kinds(season),
        "due_now": told.due_now(season.females),
        "due_later": told.due_later(season.females),
        "females": view.females(season),
        "pens": view.pens(season, site),
        "groups": view.groups(season),
        "cameras": view.cameras(season),
        "performance": told.performance(season.performance),
        "fit": fit,
    }


def _image(picture: bytes, name: str) -> Markup:
    """A picture as an element, on white paper: SVG becomes part of the page, PNG is put into it."""
    if picture.lstrip()[:1] == b"<":
        return adopted(picture.decode("utf-8"), name, coloured=False)
    source = "data:image/png;base64," + base64.b64encode(picture).decode("ascii")
    return Markup('<img src="{}" alt="">').format(source)
