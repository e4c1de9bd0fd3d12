"""Serves the page on a free port of this machine's own address."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable
from threading import Thread

from triage.errors import StoreError

ADDRESS = "127.0.0.1"  # never another: the page is for who sits at this machine


def serve(port: int, started: Callable[[str], None]) -> None:
    """Serve until interrupted; `started` gets the link once the port is listened on.

    `port` 0 takes a free one. StoreError when the port cannot be had.
    """
    import uvicorn

    from triage.web.app import make_app
    from triage.web.desk import Desk

    with socket.socket() as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((ADDRESS, port))
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise StoreError(
                f"port {port}: {reason}", mend="name another, or none for a free one"
            ) from error
        listening.listen(128)
        desk = Desk(foresees=True)
        Thread(target=desk.warm, daemon=True).start()
        own, token = listening.getsockname()[1], secrets.token_urlsafe(24)
        config = uvicorn.Config(
            make_app(desk, own, token),
            log_level="warning",
            access_log=False,  # addresses hold keys of the operator's notes
            server_header=False,
            lifespan="off",
            timeout_graceful_shutdown=2,
        )
        started(f"http://{ADDRESS}:{own}/enter?token={token}")
        uvicorn.Server(config).run(sockets=[listening])
