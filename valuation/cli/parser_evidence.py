"""The words of the commands about evidence: files read in, batches, corrections, the ledger."""

from __future__ import annotations

from collections.abc import Callable

from valuation.cli.parser_ledger import add_ledger
from valuation.cli.parser_parts import Commands

__all__ = ["add_evidence_commands"]


def add_evidence_commands(commands: Commands) -> None:
    """Add the commands of this group, in the order in which the help lists them."""
    groups: tuple[Callable[[Commands], None], ...] = (add_ledger,)
    for add in groups:
        add(commands)
