"""Without Python's search for circles, and with it again behind, whatever happens."""

from __future__ import annotations

import gc

import pytest

from valuation.running.collecting import without_collecting


def test_the_search_runs_again_after_a_fault() -> None:
    @without_collecting()
    def fails() -> None:
        raise KeyError(gc.isenabled())

    with pytest.raises(KeyError, match="False"):
        fails()
    assert gc.isenabled()


def test_who_searches_by_hand_goes_on_doing_so() -> None:
    @without_collecting()
    def within() -> bool:
        return gc.isenabled()

    assert not within()
    assert gc.isenabled()
    gc.disable()
    try:
        assert not within()
        assert not gc.isenabled()
    finally:
        gc.enable()
