"""Whose address ``serve`` answers to: a page elsewhere whose name was pointed at this machine is
refused.

The browser of whoever serves would let such a page read the manual (DNS rebinding). RFC 9110,
section
15.5.20: 421, misdirected request.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Callable, Iterable
from typing import Any

_App = Callable[[dict[str, Any], Any], Iterable[bytes]]


def answers_to(listening: str, asked: str) -> bool:
    """Whether a server that listens on the address ``listening`` answers a request whose ``Host``
    is ``asked``: a loopback name always, this machine's other names and addresses if it listens
    there."""
    name = _name_of(asked)
    if name == "localhost":
        return True
    address = _address(name)
    if address is not None and address.is_loopback:
        return True
    if _is_loopback(listening):
        return False
    if address is not None:
        return _is_ours(address)
    own = {socket.gethostname().lower(), socket.getfqdn().lower(), listening.lower()}
    return name in own | {f"{own_name.partition('.')[0]}.local" for own_name in own}


def _name_of(asked: str) -> str:
    """The host of a ``Host`` header without its port, in small letters."""
    text = asked.strip().lower()
    if text.startswith("["):
        return text[1:].partition("]")[0]
    return text.partition(":")[0].removesuffix(".")


def _address(name: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        return None


def _is_loopback(listening: str) -> bool:
    address = _address(listening)
    return address.is_loopback if address is not None else listening.lower() == "localhost"


def _is_ours(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    """Whether an address is one of this machine's: only those can be bound to."""
    if address.is_unspecified or address.is_multicast:
        return False
    family = socket.AF_INET if address.version == 4 else socket.AF_INET6
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.bind((str(address), 0))
    except OSError:
        return False
    return True


def guarded(app: _App, listening: str) -> _App:
    """A WSGI application that answers 421 to a host that isn't ours, and 404 to an address with a
    NUL in it, which no file can have; the rest is ``app``'s."""

    def answer(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        if not answers_to(listening, environ.get("HTTP_HOST", "")):
            return _plain(
                start_response, "421 Misdirected Request", b"This manual isn't served here.\n"
            )
        if "\0" in environ.get("PATH_INFO", ""):
            return _plain(start_response, "404 Not Found", b"There is no such page.\n")
        return app(environ, start_response)

    return answer


def _plain(start_response: Any, status: str, body: bytes) -> list[bytes]:
    start_response(status, [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
    return [body]
