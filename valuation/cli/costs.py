"""``valuation costs``: check the firm's cost settings and say what they say, or give an example."""

from __future__ import annotations

from argparse import Namespace

from valuation.bidding.costs_file import example_costs, read_costs
from valuation.bidding.costs_text import costs_dict, costs_summary
from valuation.cli.output import print_json
from valuation.errors import CostsError
from valuation.importing.disk import write_text

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Print or write the example, or read the file and print what it says."""
    if arguments.example:
        _example(arguments)
        return
    if arguments.out or not arguments.file:
        raise CostsError(
            "costs",
            "only the example is written with -o" if arguments.out else "no file is named",
            remedy="Name a file of cost settings, or take an example with --example -o COSTS.toml",
        )
    costs = read_costs(arguments.file)
    if arguments.json:
        print_json(costs_dict(costs))
    else:
        print(costs_summary(costs))


def _example(arguments: Namespace) -> None:
    if arguments.file or arguments.json:
        raise CostsError(
            "--example",
            "the example is given by itself",
            got=arguments.file or "--json",
            remedy="Leave out everything but --example and -o",
        )
    if not arguments.out:
        print(example_costs(), end="")
        return
    write_text(example_costs(), arguments.out)
    print(f"Example of cost settings: {arguments.out}")
