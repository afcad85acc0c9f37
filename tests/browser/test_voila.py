"""Voilà under test: a plain page answers, asks nothing elsewhere, and no fault stays unseen."""

from __future__ import annotations

from pathlib import Path

import psutil
import pytest
from test_lab import BROKEN_WIDGET, REACHES_OUT, SLIDERS, SLOW
from voila_page import VoilaPage
from voila_server import VoilaServer

pytestmark = pytest.mark.browser

FORM = """
import ipywidgets

said = ipywidgets.HTML("<p id='said'></p>")
word = ipywidgets.Text(description="Word", continuous_update=False)
long = ipywidgets.Textarea(description="Words", continuous_update=False)
button = ipywidgets.Button(description="Say it")
button.on_click(lambda _: setattr(said, "value", f"<p id='said'>{word.value} {long.value}</p>"))
ipywidgets.VBox([word, long, button, said])
"""
FLOW = {"voila": {"template": "valuation"}}


def test_a_slider_moves_what_is_shown(voila: VoilaPage) -> None:
    voila.write("sliders.ipynb", "# Heading", SLIDERS, metadata=FLOW)
    voila.show("sliders.ipynb")
    assert voila.text_of("h1") == "Heading"
    assert voila.text_of("#bid") == "900.0"
    voila.slider("Target margin").press("ArrowRight", 5)
    assert voila.text_of("#bid") == "875.0"
    voila.choose("Channel", "online auction")
    assert voila.text_of("#bid") == "850.0"
    assert (voila.faults(), voila.console, voila.outside) == ([], [], [])


def test_fields_and_buttons_answer(voila: VoilaPage) -> None:
    voila.write("form.ipynb", FORM, metadata=FLOW)
    voila.show("form.ipynb")
    voila.write_into("Word", "blue")
    voila.write_into("Words", "and old")
    voila.click("Say it")
    assert voila.text_of("#said") == "blue and old"
    assert (voila.faults(), voila.console, voila.outside) == ([], [], [])


def test_a_slow_kernel_is_waited_for(voila: VoilaPage) -> None:
    voila.write("slow.ipynb", SLOW, metadata=FLOW)
    voila.show("slow.ipynb")
    voila.slider("Slow").press("ArrowRight", 3)
    assert voila.text_of("#bid") == "3"


def test_every_fault_is_seen_and_no_traceback(voila: VoilaPage) -> None:
    voila.write("faults.ipynb", BROKEN_WIDGET, REACHES_OUT, "1 / 0", metadata=FLOW)
    voila.show("faults.ipynb")
    widget, error = voila.faults()
    assert "error" in widget
    assert "There was an error when executing cell" in error
    assert "ZeroDivisionError" not in voila.page.content()
    assert "http://pictures.invalid/a.png" in voila.outside
    assert "content" in voila.console


def test_nothing_is_left_running(tmp_path: Path, user_environment: dict[str, str]) -> None:
    root = tmp_path / "files"
    root.mkdir()
    with VoilaServer(root, tmp_path / "state", user_environment) as server:
        started = server.processes()
        assert any("voila" in process.cmdline() for process in started)
    assert [p for p in started if p.is_running() and p.status() != psutil.STATUS_ZOMBIE] == []
