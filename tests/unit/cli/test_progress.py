from __future__ import annotations

import io

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
    assert "fitting:   0%" in seen
    assert seen.endswith("\r")


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
