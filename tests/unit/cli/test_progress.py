from __future__ import annotations

import io
import re

from valuation.cli.progress import Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_sees_a_bar_that_goes_away() -> None:
    stream = Terminal()
    with Progress(stream) as progress:
        progress(0, 4, "fitting")
        progress(4, 4, "fitting")
    seen = stream.getvalue()
    assert re.search(r"fitting .* 0 of 4, 00:0\d", seen)
    assert seen.endswith("\r")


def test_the_bar_moves_and_is_one_bar() -> None:
    stream = Terminal()
    with Progress(stream) as progress:
        progress(0, 4, "fitting")
        first = progress._bar
        progress(3, 4, "fitting")
        assert progress._bar is first
        assert first is not None
        assert first.n == 3


def test_a_log_sees_nothing_of_quick_work() -> None:
    stream = io.StringIO()
    with Progress(stream) as progress:
        for done in range(5):
            progress(done, 4, "fitting")
    assert stream.getvalue() == ""


def test_each_kind_of_work_has_its_own_bar() -> None:
    stream = Terminal()
    with Progress(stream) as progress:
        progress(1, 2, "fitting")
        progress(1, 9, "forecasting")
    seen = stream.getvalue()
    assert "fitting" in seen
    assert "forecasting" in seen


def test_closing_without_work_is_nothing() -> None:
    Progress(io.StringIO()).close()
