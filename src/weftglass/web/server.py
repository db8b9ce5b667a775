"""Serves one collection with uvicorn, on this computer unless another address is asked for."""

from __future__ import annotations

import sys
import threading
import webbrowser
from pathlib import Path

import uvicorn

from weftglass.desk import Collection, library_of
from weftglass.desk.identification import answer_to
from weftglass.evidence import Evidence
from weftglass.web.app import create_app
from weftglass.web.guard import bracketed

DEFAULT_PORT = 8417


def run_server(
    path: str | Path, host: str = "127.0.0.1", port: int = DEFAULT_PORT, *, open_browser: bool = False
) -> None:
    """
    Serve a collection until interrupted; prints the address on standard error.

    Parameters
    ----------
    path : str or Path
        The collection folder; made when it does not exist.
    host : str
        Address to listen on. Anything but loopback lets others on the network read and change the collection, and a
        warning says so.
    port : int
        Port to listen on.
    open_browser : bool
        Open the page in a browser once the server answers.
    """
    app = create_app(path, host=host)
    address = f"http://{bracketed(host)}:{port}/"
    print(f"weftglass shows the collection {path} at {address} (stop with Ctrl+C)", file=sys.stderr)
    if host not in ("127.0.0.1", "localhost", "::1"):
        print(
            "Anybody who reaches this address can read and change the collection: there is no password.",
            file=sys.stderr,
        )
    threading.Thread(target=_warm, args=(app.state.collection,), daemon=True).start()
    if open_browser:
        opening = threading.Timer(1.0, webbrowser.open, (address,))
        opening.daemon = True
        opening.start()
    uvicorn.run(app, host=host, port=port, log_level="warning", proxy_headers=False, server_header=False)


def _warm(collection: Collection) -> None:
    """Lay the library out for the engine before the first question, which would otherwise wait for it."""
    answer_to(collection, Evidence("nothing yet"), library_of(collection))
