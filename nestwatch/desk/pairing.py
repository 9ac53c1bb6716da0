"""Letting a phone of the house in by a code that stands in the terminal."""

from __future__ import annotations

import ipaddress
import secrets
import socket
from contextlib import suppress
from threading import Lock

_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"  # without those that are taken for one another
_LENGTH = 8
MOST_WRONG = 10
"""Wrong codes before nobody is let in any more; chance of a guess: 10 in 31 ** 8."""
_NOWHERE = ("192.0.2.1", 9)  # RFC 5737: belongs to nobody. Nothing is sent: only the way there is asked for


class Pairing:
    """The code of one run. Safe to call from several threads."""

    def __init__(self) -> None:
        letters = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
        self.code = f"{letters[:4]}-{letters[4:]}"
        self._wrong = 0
        self._lock = Lock()

    @property
    def is_closed(self) -> bool:
        """After too many wrong codes; for the rest of this run."""
        return self._wrong >= MOST_WRONG

    def accepts(self, given: str) -> bool:
        """Whether this is the code; spaces, the hyphen and small letters do not matter. Counts wrong ones."""
        with self._lock:
            if self.is_closed:
                return False
            right = secrets.compare_digest(_plain(given).encode(), _plain(self.code).encode())
            self._wrong += not right
            return right


def _plain(code: str) -> str:
    return "".join(code.split()).replace("-", "").upper()


def house_addresses() -> tuple[str, ...]:
    """This computer's IPv4 addresses in private networks (RFC 1918), the likeliest first; () without any.

    A public address is left out: the page would be open to the whole internet.
    """
    found = [address for address in (_outward(), *_named()) if address and _is_private(address)]
    return tuple(dict.fromkeys(found))


def _outward() -> str | None:
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(_NOWHERE)
        return str(probe.getsockname()[0])
    return None


def _named() -> list[str]:
    with suppress(OSError):
        return socket.gethostbyname_ex(socket.gethostname())[2]
    return []


def _is_private(address: str) -> bool:
    read = ipaddress.ip_address(address)
    return read.is_private and not read.is_loopback and not read.is_unspecified and not read.is_link_local
