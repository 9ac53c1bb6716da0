"""What every local page shares: templates, colours, and errors in words, as a page or as JSON."""

from __future__ import annotations

from flask import Flask, Response, jsonify, render_template, request
from werkzeug.exceptions import HTTPException

import nestwatch
from nestwatch.desk import palette
from nestwatch.desk.guard import Guard
from nestwatch.errors import NestwatchError

_WORDS = {
    404: "There is nothing at this address.",
    405: "This address is not used that way.",
    413: "That is more than this page ever sends, so it was not read.",
}


def make_shell(guard: Guard) -> Flask:
    """A Flask application without pages, behind `guard`. It never runs in debug mode."""
    app = Flask("nestwatch.desk", template_folder="templates", static_folder="static")
    app.jinja_env.autoescape = True  # Flask alone would leave out *.html.j2
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    guard.protect(app)
    app.add_url_rule("/style.css", "style", _style)
    app.register_error_handler(HTTPException, _refused)
    app.register_error_handler(NestwatchError, _told)
    app.register_error_handler(Exception, _fault)
    app.context_processor(lambda: {"version": nestwatch.__version__})
    return app


def _style() -> Response:
    css = render_template("style.css.j2", light=palette.LIGHT, dark=palette.DARK, picture=palette.PICTURE)
    return Response(css, mimetype="text/css")


def _refused(error: HTTPException) -> tuple[str | Response, int]:
    code = error.code or 500
    return _answer(_WORDS.get(code, error.description or error.name), code)


def _told(error: NestwatchError) -> tuple[str | Response, int]:
    """409: what was asked for contradicts what is on the disk."""
    return _answer(str(error), 409)


def _fault(error: Exception) -> tuple[str | Response, int]:
    """A fault of the program: in words here, in full in the terminal (waitress logs nothing by itself)."""
    from flask import current_app

    current_app.logger.error("fault while answering %s", request.path, exc_info=error)
    told = f"{type(error).__name__}: {error}"
    return _answer(
        f"This is a fault of the program, not of your files ({told}). What you drew or wrote is still on "
        "the page: keep a copy of it, and send the terminal's lines to whoever looks after the program.",
        500,
    )


def _answer(why: str, code: int) -> tuple[str | Response, int]:
    """JSON for the page's scripts, a page for people; a form sent without a script is a person's."""
    is_form = request.mimetype in {"application/x-www-form-urlencoded", "multipart/form-data"}
    if request.path.startswith("/api/") or not (request.method in {"GET", "HEAD"} or is_form):
        return jsonify(why=why), code
    return render_template("message.html.j2", why=why, code=code), code
