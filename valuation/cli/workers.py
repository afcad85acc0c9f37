"""How long work runs: on how many processes, here or on a cluster."""

from __future__ import annotations

from argparse import Namespace

from valuation.running.runner import Runner

__all__ = ["runner_of"]


def runner_of(arguments: Namespace) -> Runner:
    """Return how a command line wants independent pieces of work to be run."""
    return Runner(workers=arguments.workers or 1, cluster=arguments.cluster or "")
