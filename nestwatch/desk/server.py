"""Serving a local page: on 127.0.0.1 (and in the house where asked for), on a free port, until Ctrl-C."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from threading import Thread
from typing import Any

import waitress
from flask import Flask

from nestwatch.desk.guard import START, Guard
from nestwatch.desk.pairing import Pairing, house_addresses
from nestwatch.errors import OutputError

HERE = "127.0.0.1"
_THREADS = 8


@dataclass(frozen=True, slots=True)
class LocalServer:
    """A page that is ready to be served. `start_url` lets one browser in, once.

    `network_urls`: where phones of the house find it, none unless the network was asked for.
    """

    start_url: str
    guard: Guard
    _server: Any
    _doors: tuple[Any, ...]
    network_urls: tuple[str, ...] = ()

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
        self._doors[0].trigger.pull_trigger(self._close)

    def _close(self) -> None:
        for door in self._doors:
            for channel in list(door.active_channels.values()):
                channel.close()
            door.close()


def make_server(make_app: Callable[[Guard], Flask], *, port: int = 0, network: bool = False) -> LocalServer:
    """Bind to a free port of 127.0.0.1 (or to `port`) and put the application behind a guard.

    `network`: listen to this computer's private networks too, for browsers that give a code. Raises
    `OutputError` where the port is taken.
    """
    late = _Late()
    addresses = house_addresses() if network else ()
    sockets = _all_listening(addresses, port)
    port = sockets[0].getsockname()[1]
    parts: dict[int, Any] = {}
    server = waitress.create_server(
        late, map=parts, sockets=sockets, threads=_THREADS, ident=None, clear_untrusted_proxy_headers=True
    )
    house = [f"{address}:{port}" for address in addresses]
    guard = Guard(
        {f"{HERE}:{port}", f"localhost:{port}", *house},
        cookie=f"nestwatch-{port}",
        pairing=Pairing() if network else None,
        house=house,
    )
    late.app = make_app(guard)
    return LocalServer(
        f"http://{HERE}:{port}{START}?token={guard.start_token}",
        guard,
        server,
        tuple(part for part in parts.values() if hasattr(part, "active_channels")),
        tuple(f"http://{host}/" for host in house),
    )


def open_browser(url: str) -> None:
    """Ask the computer's browser to show `url`, without waiting for it."""
    Thread(target=webbrowser.open, args=(url,), daemon=True).start()


def _all_listening(addresses: Sequence[str], port: int) -> list[socket.socket]:
    """Sockets for this computer itself and for its addresses in the house, all on one port."""
    sockets = [_listening(HERE, port)]
    try:
        for address in addresses:
            sockets.append(_listening(address, sockets[0].getsockname()[1]))
    except OutputError:
        for opened in sockets:
            opened.close()
        raise
    return sockets


def _listening(address: str, port: int) -> socket.socket:
    """A socket bound to one of this computer's own addresses."""
    opened = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        opened.bind((address, port))
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
