"""``valuation import``: read files of sales into the evidence."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.inputs import map_of, now, rates_of, who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.errors import EvidenceError
from valuation.evidence.parquet import import_files
from valuation.evidence.workspace import Workspace
from valuation.importing.rates import RateTable, read_rates
from valuation.refresh.settings import MonthSettings, read_month_settings

__all__ = ["run"]

_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".parquet", ".gz")


def run(arguments: Namespace) -> None:
    """Read the files in and say what became of each."""
    workspace = workspace_of_arguments(arguments, make=True)
    settings = read_month_settings(workspace.settings)
    named, waiting = _files(arguments, workspace)
    with Progress() as progress:
        done = import_files(
            workspace,
            [*named, *waiting],
            source_map=map_of(arguments),
            rates=_rates(arguments, settings),
            currency=arguments.currency or settings.currency or None,
            who=who_of(arguments),
            now=now(),
            # A file that was undone may still lie in the inbox.
            restore=not waiting,
            progress=progress,
        )
    if arguments.json:
        print_json(done.to_dict())
    else:
        print(done.summary())
    if done.refused:
        raise EvidenceError(
            "import",
            "not every file could be read in",
            got=", ".join(f.file for f in done.refused),
            remedy="Each reason stands with its file",
        )


def _rates(arguments: Namespace, settings: MonthSettings) -> RateTable | None:
    return rates_of(arguments) or (read_rates(settings.rates) if settings.rates else None)


def _files(arguments: Namespace, workspace: Workspace) -> tuple[list[Path], list[Path]]:
    """Return the files that are named, and those of the inbox if it is named or nothing else is."""
    files = [Path(name) for name in arguments.files]
    if files and not arguments.inbox:
        return files, []
    inbox = Path(arguments.inbox) if arguments.inbox else workspace.inbox
    if not inbox.is_dir():
        raise EvidenceError(
            str(inbox),
            "there is no such inbox",
            remedy="Name files, or the folder they are in with --inbox DIR",
        )
    found = [p for p in inbox.iterdir() if p.suffix.lower() in _ENDINGS and p.is_file()]
    waiting = sorted(p for p in found if not p.name.startswith("."))
    if not (files or waiting):
        raise EvidenceError(str(inbox), "the inbox is empty", remedy="Put files of sales into it")
    return files, waiting
