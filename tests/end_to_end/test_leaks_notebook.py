"""Nothing of what the firm asks itself in the salesperson's notebook reaches a customer."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from leaks import amounts_in, leaks_in, pdf_text, visible
from nbclient import NotebookClient
from planted_secrets import ASKING, PUBLISHED, SPENT, Planted

ROOT = Path(__file__).parents[2]
STORAGE = 771_391
"""A month, in the cost settings."""

OPEN = """
sheet, firm = list(Out.values())
firm.open.click()
firm.desk.car.value = next(name for name in sheet.car.options if "stock chassis" in name)
firm.desk.button.click()
firm.desk.save.kind.value = "HTML page"
firm.desk.save.button.click()
"""
"""What the firm does with it: works out what to ask, and keeps the page."""

USED = f"""{OPEN}
sheet.car.value = firm.desk.car.value
firm.put_away.click()
sheet.asking.value = "{ASKING}"
for kind in sheet.save.kind.options:
    sheet.save.kind.value = kind
    sheet.save.button.click()
sheet
"""
"""What a salesperson does after it: puts it away, and keeps the sheet for a customer."""


@pytest.fixture
def settings(planted: Planted, tmp_path: Path) -> str:
    """Return the settings of the notebook: the firm's own, with a cost that stands nowhere else."""
    costs = (ROOT / "data_synthetic" / "costs.toml").read_text("utf-8")
    plain = "storage_a_month = 90"
    assert plain in costs
    costs = costs.replace(plain, f"storage_a_month = {STORAGE}")
    (tmp_path / "costs.toml").write_text(costs, "utf-8")
    own = {
        "MODEL": planted.folder / PUBLISHED,
        "WORKSPACE": planted.folder / "workspace",
        "COSTS": tmp_path / "costs.toml",
        "SAVE_TO": tmp_path / "sheets",
        "KEEP_INTERNAL": tmp_path / "internal",
    }
    lines = [f"{name} = {str(where)!r}" for name, where in own.items()]
    return "\n".join([*lines, f"CARS = [{str(planted.folder)!r}]"])


def executed(settings: str, *more: str, env: dict[str, str]) -> dict[str, str]:
    """Run the notebook with further cells; return what its outputs and its widgets hold."""
    new = nbformat.v4.new_code_cell
    notebook = nbformat.read(ROOT / "notebooks" / "justify_price.ipynb", as_version=4)
    assert "widgets" not in notebook.metadata
    (place,) = (i for i, cell in enumerate(notebook.cells) if "tags" in cell.metadata)
    notebook.cells.insert(place + 1, new(settings))
    notebook.cells.extend(map(new, more))
    NotebookClient(notebook, timeout=600, kernel_name="python3").execute(env=env)
    outputs = [o["data"] for cell in notebook.cells for o in cell.get("outputs", ())]
    kept = notebook.metadata["widgets"]["application/vnd.jupyter.widget-state+json"]["state"]
    told = {f"output {i}": visible(str(data)) for i, data in enumerate(outputs)}
    # Values alone: among the names of what a layout may say is one of the trade's.
    values = (str(value) for widget in kept.values() for value in widget["state"].values())
    return told | {"widgets": " ".join(map(visible, values))}


# The kernel's own transport warns about its event loop and unclosed sockets on some systems.
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.notebook
@pytest.mark.parametrize("used", [(), (USED,), (OPEN,)], ids=["closed", "used", "left open"])
def test_what_the_firm_asked_itself_is_told_nowhere(
    planted: Planted,
    settings: str,
    user_environment: dict[str, str],
    tmp_path: Path,
    used: tuple[str, ...],
) -> None:
    told = executed(settings, *used, env=user_environment)
    private: dict[str, Any] = planted.of("chassis", PUBLISHED)
    private["amounts"] = [*private["amounts"], STORAGE]
    if used:
        (page,) = (tmp_path / "internal").iterdir()
        html = page.read_text("utf-8")
        figures = dict(re.findall(r'<dt>(.*?)</dt><dd class="value">(.*?)</dd>', html))
        own = ("Expected net", "Money in the car", "A day more costs", "Sent there today")
        private["words"] = [*private["words"], *(figures[name] for name in own)]
        put_in = planted.paid["chassis"] + SPENT
        assert amounts_in(visible(html), private["amounts"]) == [put_in]
    if used == (OPEN,):  # the search is not blind: an open form holds what it shows
        assert leaks_in(told.pop("widgets"), **private)
    if used == (USED,):
        assert f"{ASKING:,}" in told["output 2"]
        for sheet in (tmp_path / "sheets").iterdir():
            content = sheet.read_bytes()
            pdf = sheet.suffix == ".pdf"
            told[sheet.name] = pdf_text(content) if pdf else visible(content.decode())
        assert len(told) == 6
    found = {name: leaks_in(text, **private) for name, text in told.items()}
    assert {name: what for name, what in found.items() if what} == {}
