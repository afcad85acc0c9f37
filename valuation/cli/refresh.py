"""``valuation refresh``: the month's work, from the inbox to a decision."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.inputs import now, who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.cli.workers import runner_of
from valuation.refresh.month import published_folder, refresh
from valuation.refresh.settings import read_month_settings
from valuation.report.month_page import month_files, month_page
from valuation.report.write import write_page

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Read the inbox in, fit and test a candidate, decide, publish or say why not."""
    workspace = workspace_of_arguments(arguments)
    with runner_of(arguments) as runner, Progress() as progress:
        study = refresh(
            workspace,
            who=who_of(arguments),
            now=now(),
            pages=month_files,
            inbox=Path(arguments.inbox) if arguments.inbox else None,
            as_of=arguments.as_of,
            dry_run=arguments.dry_run,
            run=runner,
            progress=progress,
        )
    page = write_page(month_page(study), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(study.to_dict() | {"dry_run": arguments.dry_run})
        return
    if arguments.dry_run:
        print("Tried only: nothing was changed.")
    print(study.summary())
    if study.decision.publish and not arguments.dry_run:
        folder = published_folder(workspace, read_month_settings(workspace.settings))
        print(f"Everyone prices from it with --model {folder}")
    if page:
        print(f"Page to open: {page}")
