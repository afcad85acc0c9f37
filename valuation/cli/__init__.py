"""The command: parse, call, say where the output went."""

from valuation.cli.command import main

__all__ = ["main"]
