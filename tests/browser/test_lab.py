"""JupyterLab under test: sliders move what hangs on them, and no fault stays unseen."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import psutil
import pytest
from lab import Lab
from lab_server import LabServer

pytestmark = pytest.mark.browser

SLIDERS = """
import ipywidgets
from IPython.display import HTML, display

channels = ["live auction", "online auction"]

def show(margin, risk, channel):
    fee = 0 if channel == "live auction" else 25
    display(HTML(f'<p id="bid">{1000 - 10 * margin - risk - fee:,.1f}</p>'))

ipywidgets.interactive(
    show,
    margin=ipywidgets.FloatSlider(description="Target margin", max=30, step=0.5, value=10),
    risk=ipywidgets.FloatSlider(description="Risk", max=30, step=0.5, value=0),
    channel=ipywidgets.Dropdown(description="Channel", options=channels),
)
"""
PARAGRAPHS = """HTML("".join(f"<p class='far'>paragraph {n}</p>" for n in range(60)))"""
SLOW = """
import time
import ipywidgets

shown = ipywidgets.HTML("<b id='bid'>0</b>")

def follow(change):
    time.sleep(1.2)
    shown.value = f"<b id='bid'>{change.new}</b>"

slider = ipywidgets.IntSlider(description="Slow", max=9)
slider.observe(follow, "value")
ipywidgets.VBox([slider, shown])
"""
BROKEN_WIDGET = """
import ipywidgets
from traitlets import Unicode

class Broken(ipywidgets.DOMWidget):
    _model_name = Unicode("Nothing").tag(sync=True)
    _model_module = Unicode("nowhere").tag(sync=True)
    _view_name = Unicode("Nothing").tag(sync=True)

Broken()
"""
REACHES_OUT = """
from IPython.display import HTML

HTML('<img src="http://pictures.invalid/a.png"><script>console.error("content")</script>')
"""


@pytest.mark.parametrize("mode", ["lab", "doc"])
def test_a_slider_moves_what_is_shown(lab: Lab, mode: Literal["lab", "doc"]) -> None:
    lab.write("sliders.ipynb", "# Heading", SLIDERS, "# Another", PARAGRAPHS)
    lab.open("sliders.ipynb", mode=mode)
    lab.run_all()
    assert lab.prompts() == ["[1]:", "[2]:"]
    assert lab.text_of("#bid") == "900.0"
    margin = lab.slider("Target margin")
    margin.press("ArrowRight", 5)
    assert (margin.value, lab.text_of("#bid")) == ("12.50", "875.0")
    margin.press("ArrowLeft")
    assert (margin.value, lab.text_of("#bid")) == ("12.00", "880.0")
    margin.type("20")
    assert (margin.value, lab.text_of("#bid")) == ("20.00", "800.0")
    lab.slider("Risk").press("End")
    assert lab.text_of("#bid") == "770.0"
    assert lab.texts_of("p.far") == [f"paragraph {n}" for n in range(60)]
    lab.choose("Channel", "online auction")
    assert lab.text_of("#bid") == "745.0"
    assert (lab.faults(), lab.console, lab.outside) == ([], [], [])


def test_a_slow_kernel_is_waited_for(lab: Lab) -> None:
    lab.write("slow.ipynb", SLOW)
    lab.open("slow.ipynb")
    lab.run_all()
    lab.slider("Slow").press("ArrowRight", 3)
    assert lab.text_of("#bid") == "3"


def test_what_never_ends_is_told_with_its_cell(lab: Lab) -> None:
    lab.write("endless.ipynb", "1", "import time\ntime.sleep(600)")
    lab.open("endless.ipynb")
    told = r"after 2 s: kernel busy, requests not answered: 1, cells \[1\]: \[\*\]:"
    with pytest.raises(AssertionError, match=told):
        lab.run_all(seconds=2)


def test_every_fault_is_seen(lab: Lab) -> None:
    noisy = "import sys\nprint('noise', file=sys.stderr)"
    lab.write("faults.ipynb", noisy, BROKEN_WIDGET, REACHES_OUT, "1 / 0", "print('never')")
    lab.open("faults.ipynb")
    lab.run_all()
    noise, widget, error = lab.faults()
    assert noise == "noise\n"
    assert "error" in widget
    assert error.endswith("ZeroDivisionError: division by zero")
    assert lab.prompts()[-2:] == ["[4]:", "[ ]:"]
    assert set(lab.outside) == {"http://pictures.invalid/a.png"}
    assert "content" in lab.console


def test_a_picture_shows_the_notebook_to_its_end(lab: Lab, tmp_path: Path) -> None:
    block = "HTML('<div style=\"height:900px;background:rgb(0,128,0)\"></div>')"
    lab.write("high.ipynb", "from IPython.display import HTML", *[block] * 3)
    lab.open("high.ipynb", dark=True)
    lab.run_all()
    picture = tmp_path / "high.png"
    lab.screenshot(picture)
    width, height = (int.from_bytes(picture.read_bytes()[a : a + 4], "big") for a in (16, 20))
    assert width == 1300
    assert 2700 < height < 3300
    assert lab.page.evaluate("document.body.dataset.jpThemeLight") == "false"


def test_nothing_is_left_running(tmp_path: Path, user_environment: dict[str, str]) -> None:
    root = tmp_path / "files"
    root.mkdir()
    with LabServer(root, tmp_path / "state", user_environment) as server:
        server.ask("POST", "api/kernels")
        started = server.processes()
        assert any("ipykernel_launcher" in process.cmdline() for process in started)
    assert [p for p in started if p.is_running() and p.status() != psutil.STATUS_ZOMBIE] == []
