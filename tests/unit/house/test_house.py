"""Rules of the house that no linter knows."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
CODE = sorted((ROOT / "valuation").rglob("*.py"))
FOLDERS = ("valuation", "tests", "data_synthetic")
PYTHON = sorted(p for folder in FOLDERS for p in (ROOT / folder).rglob("*.py"))
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
Function = ast.FunctionDef | ast.AsyncFunctionDef


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def functions(source: str) -> Iterator[Function]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, Function):
            yield node


def body_lines(node: Function) -> int:
    """Count the lines of a function without its docstring."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    first = node.body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
        lines -= (first.end_lineno or first.lineno) - first.lineno + 1
    return lines


@pytest.mark.parametrize("path", PYTHON, ids=name)
def test_no_file_has_more_than_400_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


def test_functions_are_short() -> None:
    lengths = sorted(body_lines(f) for p in CODE for f in functions(p.read_text(encoding="utf-8")))
    assert lengths[len(lengths) // 2] <= 15
    assert lengths[len(lengths) * 9 // 10] <= 40


@pytest.mark.parametrize("path", [p for p in CODE if p.name == "__init__.py"], ids=name)
def test_a_room_opens_in_at_most_40_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 40


@pytest.mark.parametrize("path", CODE, ids=name)
def test_no_import_hides_in_a_function(path: Path) -> None:
    for function in functions(path.read_text(encoding="utf-8")):
        hidden = [n for n in ast.walk(function) if isinstance(n, ast.Import | ast.ImportFrom)]
        assert not hidden, f"{function.name}, line {function.lineno}"


def test_there_is_a_notebook() -> None:
    assert "price_before_bidding.ipynb" in [p.name for p in NOTEBOOKS]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_a_notebook_holds_no_output_and_no_long_function(path: Path) -> None:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    for cell in (c for c in cells if c["cell_type"] == "code"):
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
        for function in functions("".join(cell["source"])):
            assert body_lines(function) <= 5


def test_imports_go_one_way() -> None:
    tool = Path(sys.executable).with_name("lint-imports")
    command = [tool, "--no-cache"]
    found = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert found.returncode == 0, found.stdout
