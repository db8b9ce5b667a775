"""The command line: one file a command, each of which reads, calls one function and prints."""

from weftglass.cli.main import main

__all__ = ["main"]
