"""``valuation realised``: what was said of cars beside what they brought."""

from __future__ import annotations

from argparse import Namespace
from datetime import UTC, datetime

from valuation.cli.inputs import who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.evidence.pairs import PairSettings, PairsFound, keep_pairs
from valuation.evidence.said_in import collect_said
from valuation.importing.disk import write_text
from valuation.refresh.settings import read_month_settings
from valuation.report.realised_page import realised_page
from valuation.report.write import write_page
from valuation.study.realised import realised_study, won_record

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Pair what was said with what came, and print, show or write what follows."""
    now = datetime.now(UTC).astimezone()
    day = arguments.as_of or now.date()
    workspace = workspace_of_arguments(arguments)
    firm, who = read_month_settings(workspace.settings), who_of(arguments)
    collect_said(workspace, who=who, now=now)
    found = keep_pairs(
        workspace,
        as_of=day,
        who=who,
        now=now,
        settings=PairSettings(arguments.within_days or firm.within_days, firm.lot_days),
    )
    study = realised_study(
        found.pairs, as_of=day, said=found.said, waiting=found.waiting, seed=arguments.seed
    )
    told = _record(arguments, found) if arguments.won_record else ""
    page = write_page(realised_page(study), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(study.to_dict())
        return
    print(study.summary())
    if told:
        print(told)
    if page:
        print(f"Page to open: {page}")


def _record(arguments: Namespace, found: PairsFound) -> str:
    """Write the record of lots that were won; say what is in it."""
    record = won_record(found.pairs)
    if not record.pairs:
        return "No lot that was bid on and won has been sold again: no record is written."
    write_text(record.content, arguments.won_record)
    left = f"; in other currencies, left out: {record.other_currency}" * bool(record.other_currency)
    return (
        f"Record for winning: {arguments.won_record}, lots in {record.currency}: "
        f"{record.pairs:,}{left}"
    )
