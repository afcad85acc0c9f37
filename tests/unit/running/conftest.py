"""Runners of each kind, started once."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from valuation.running.runner import Runner

KINDS = {"alone": {}, "processes": {"workers": 2}, "cluster": {"cluster": "local:2"}}


@pytest.fixture(scope="package", params=KINDS)
def run(request: pytest.FixtureRequest) -> Iterator[Runner]:
    """Return a runner of each kind in turn."""
    with Runner(**KINDS[request.param]) as made:
        yield made
