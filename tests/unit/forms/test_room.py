"""Forms are the one room that needs the extra for notebooks."""

from __future__ import annotations

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[3] / "valuation"


def imported(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add((node.module or "").split(".")[0])
    return found


def test_only_forms_need_ipywidgets() -> None:
    users = {p.relative_to(PACKAGE).parts[0] for p in PACKAGE.rglob("*.py")
             if "ipywidgets" in imported(p)}  # fmt: skip
    assert users == {"forms"}
