"""``valuation models``: the versions of a published folder, and which one is in use."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from valuation.cli.inputs import who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.errors import SettingsError
from valuation.refresh.settings import read_month_settings
from valuation.refresh.versions import VersionLine, version_lines
from valuation.store.published import history, use_version

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """List versions with their figures, or put one to use."""
    folder = _folder(arguments)
    if arguments.action == "use":
        if not arguments.version:
            raise SettingsError(
                "valuation models use",
                "no version is named",
                remedy="Name one that 'valuation models' lists",
            )
        who = who_of(arguments)
        used = use_version(folder, arguments.version, by=who, reason=arguments.reason)
        if arguments.json:
            print_json({"format": 1, "in_use": used.version, "by": who, "reason": arguments.reason})
        else:
            print(f"{used.version} is in use now, for everyone who prices from {folder}.")
        return
    lines = version_lines(folder)
    if arguments.json:
        print_json(_as_dict(folder, lines))
    elif not lines:
        print(f"Nothing is published in {folder} yet.")
    else:
        print("\n".join(line.summary() for line in lines))


def _folder(arguments: Namespace) -> Path:
    if arguments.published:
        return Path(arguments.published)
    workspace = workspace_of_arguments(arguments)
    return workspace.root / read_month_settings(workspace.settings).published


def _as_dict(folder: Path, lines: tuple[VersionLine, ...]) -> dict[str, Any]:
    return {
        "format": 1,
        "published": str(folder),
        "versions": [line.to_dict() for line in lines],
        "used": [{"version": u.version, "by": u.by, "reason": u.reason} for u in history(folder)],
    }
