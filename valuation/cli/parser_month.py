"""The words of the commands about the analyst's month: refresh, versions of models, studies."""

from __future__ import annotations

from collections.abc import Callable

from valuation.cli.parser_parts import Commands

__all__ = ["add_month_commands"]


def add_month_commands(commands: Commands) -> None:
    """Add the commands of this group, in the order in which the help lists them."""
    groups: tuple[Callable[[Commands], None], ...] = ()
    for add in groups:
        add(commands)
