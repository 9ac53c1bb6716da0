"""Serving a local page: on 127.0.0.1 only, on a free port, until Ctrl-C."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from threading import Thread
from typing import Any

import waitress
from flask import Flask

from nestwatch.desk.guard import START, Guard
from nestwatch.errors import OutputError

HERE = "127.0.0.1"
_THREADS = 8


@dataclass(frozen=True, slots=True)
class LocalServer:
    """A page that is ready to be served. `start_url` lets one browser in, once."""

    start_url: str
    guard: Guard
    _server: Any

    def run(self) -> None:
        """Serve until Ctrl-C (or until `close` is called from another thread)."""
        try:
            with suppress(KeyboardInterrupt):
                self._server.run()
        finally:
            self._close()
            self._server.task_dispatcher.shutdown()

    def close(self) -> None:
        """Have `run`, in another thread, come to its end."""
        self._server.trigger.pull_trigger(self._close)

    def _close(self) -> None:
        for channel in list(self._server.active_channels.values()):
            channel.close()
        self._server.close()


def make_server(make_app: Callable[[Guard], Flask], *, port: int = 0) -> LocalServer:
    """Bind to a free port of 127.0.0.1 (or to `port`) and put the application behind a guard.

    Raises `OutputError` where the port is taken.
    """
    late = _Late()
    listening = _listening(port)
    port = listening.getsockname()[1]
    server = waitress.create_server(
        late, sockets=[listening], threads=_THREADS, ident=None, clear_untrusted_proxy_headers=True
    )
    guard = Guard({f"{HERE}:{port}", f"localhost:{port}"}, cookie=f"nestwatch-{port}")
    late.app = make_app(guard)
    return LocalServer(f"http://{HERE}:{port}{START}?token={guard.start_token}", guard, server)


def open_browser(url: str) -> None:
    """Ask the computer's browser to show `url`, without waiting for it."""
    Thread(target=webbrowser.open, args=(url,), daemon=True).start()


def _listening(port: int) -> socket.socket:
    """A socket bound to this computer's own address."""
    opened = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        opened.bind((HERE, port))
    except OSError as error:
        opened.close()
        raise OutputError(
            f"cannot open port {port} ({error.strerror}); leave --port out to get a free one."
        ) from error
    return opened


class _Late:
    """The application is made when the port is known, which is after the server."""

    app: Flask | None = None

    def __call__(self, environ: Any, start_response: Any) -> Any:
        assert self.app is not None
        return self.app.wsgi_app(environ, start_response)
