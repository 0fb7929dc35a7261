"""Listening: on this machine alone, until somebody presses Ctrl-C."""

import os
import socket
from collections.abc import Callable

import uvicorn
from starlette.types import ASGIApp

from coilwright.errors import InputError, Problem
from coilwright.web.loopback import is_loopback

LAST_PORT = 65535


class ListeningRefused(InputError):
    """The address or port cannot be listened on."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem)

    def __str__(self) -> str:
        return f"{self.problem}."


def open_loopback(host: str, port: int) -> socket.socket:
    """A listening socket on a loopback address; port 0 takes a free one.

    Raises
    ------
    ListeningRefused
        The address is not a loopback address, or the port is taken.
    """
    address = _loopback_address(host)
    if not 0 <= port <= LAST_PORT:
        raise _port_refused(port, "ports end at 65535")
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    try:
        return socket.create_server((address, port), family=family)
    except OSError as error:
        reason = os.strerror(error.errno) if error.errno else "cannot be opened"
        raise _port_refused(port, reason.lower()) from error


def serve_until_stopped(app: ASGIApp, sock: socket.socket, say: Callable[[str], None]) -> None:
    """Serve ``app`` on an open socket; say the address; return on Ctrl-C."""
    host, port = sock.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False)
    with sock:
        try:
            say(f"http://{shown}:{port}/")
            uvicorn.Server(config).run(sockets=[sock])
        except KeyboardInterrupt:
            # Raised again by the server after it has closed every connection.
            return


def _loopback_address(host: str) -> str:
    if not is_loopback(host):
        raise ListeningRefused(
            Problem(
                field="--host",
                found=f"{host} is not a loopback address, and accounts and TLS, without which "
                "no other machine may come in, are not built yet",
                mend="use 127.0.0.1",
            )
        )
    return "127.0.0.1" if host.lower() == "localhost" else host.strip("[]")


def _port_refused(port: int, reason: str) -> ListeningRefused:
    found = f"port {port} cannot be used ({reason})"
    return ListeningRefused(
        Problem(field="--port", found=found, mend="name another, or 0 for a free one")
    )
