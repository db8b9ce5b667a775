"""The collection in the browser: pages over `weftglass.desk`, on this computer only unless asked otherwise."""

from weftglass.web.app import create_app
from weftglass.web.server import run_server

__all__ = ["create_app", "run_server"]
