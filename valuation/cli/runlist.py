"""``valuation runlist``: every lot of a catalogue with its bid, planned within a budget."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import Costs
from valuation.bidding.costs_file import read_costs
from valuation.bidding.run_list import RunSettings, lot_candidates, run_list
from valuation.bidding.sheet import bid_sheet
from valuation.bidding.ways import way_for
from valuation.cli.inputs import map_of
from valuation.cli.logging_said import Log, log_of_arguments, said_car
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.cli.workers import runner_of
from valuation.errors import SettingsError
from valuation.evidence.said_files import log_run_list
from valuation.files import write_in_one_step
from valuation.importing.lot_changes import carry_notes, compare_lots
from valuation.importing.lot_list import LotList
from valuation.importing.lots import read_lots
from valuation.report.lot_sheets import render_lot_sheets
from valuation.report.run_list_page import run_list_page
from valuation.report.run_list_workbook import run_list_csv, run_list_workbook
from valuation.report.write import write_page
from valuation.results.bid_sheet import BidSheet
from valuation.results.run_list import RunList
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Read catalogue, costs and model; print or write the run list."""
    costs = read_costs(arguments.costs)
    log = log_of_arguments(arguments)
    market = load_model(Path(arguments.model))
    lots = read_lots(arguments.lots, source_map=map_of(arguments), known_makes=market.makes)
    settings = RunSettings(arguments.sort, arguments.budget, dict(arguments.won))
    if arguments.before:
        lots, settings = _revised(arguments, lots, settings, market)
    if arguments.notes:
        lots = carry_notes(read_lots(arguments.notes, known_makes=market.makes), lots)
    with Progress() as bar, runner_of(arguments) as run:
        found = run_list(
            market, lots, costs, as_of=arguments.as_of, settings=settings, run=run, progress=bar
        )
    written = _write(arguments, found, lots, market, costs)
    kept = _kept(log, found, lots, costs)
    if arguments.json:
        print_json(found.to_dict() | ({"said": list(kept)} if log else {}))
        return
    print(found.summary())
    if log:
        print(f"Kept of what was said: {len(kept):,} lots in {log.folder}")
    for path in written:
        print(f"Written: {path}")


def _kept(log: Log | None, found: RunList, lots: LotList, costs: Costs) -> tuple[str, ...]:
    """Keep what was said of each lot; return the identities."""
    if log is None:
        return ()
    cars = {x.order: said_car(x.car, venue=x.venue, lot=x.number) for x in lots.lots}
    return log_run_list(
        log.folder,
        found,
        cars,
        by=log.by,
        now=log.now,
        version=log.version,
        channel=costs.selling.channel,
    )


def _revised(
    arguments: Namespace, lots: LotList, settings: RunSettings, market: MarketModel
) -> tuple[LotList, RunSettings]:
    """Return the list with the notes of an earlier one, and what differs from it."""
    before = read_lots(arguments.before, known_makes=market.makes)
    changes = compare_lots(before, lots)
    by_lot = {c.number: c.sentences for c in changes if c.number}
    whole = tuple(s for c in changes if not c.number for s in c.sentences)
    return carry_notes(before, lots), replace(settings, changed=by_lot, changes=whole)


def _write(
    arguments: Namespace, found: RunList, lots: LotList, market: MarketModel, costs: Costs
) -> list[Path]:
    out = []
    if arguments.out:
        data = _table(found, arguments.out)
        out.append(write_in_one_step(arguments.out, data, what="run list"))
    if arguments.page:
        out.append(write_page(run_list_page(found), arguments.page))
    if arguments.sheets:
        sheets = _sheets(arguments, lots, market, costs)
        out.append(write_page(render_lot_sheets(sheets), arguments.sheets))
    return out


def _table(found: RunList, path: str) -> bytes:
    ending = Path(path).suffix.lower()
    if ending == ".xlsx":
        return run_list_workbook(found)
    if ending == ".csv":
        return run_list_csv(found).encode("utf-8-sig")
    raise SettingsError(
        "-o",
        "the ending of the name says what is written",
        got=ending or "no ending",
        remedy="Let the name end in .xlsx or .csv",
    )


def _sheets(
    arguments: Namespace, lots: LotList, market: MarketModel, costs: Costs
) -> list[BidSheet]:
    """Return a bid sheet for each lot asked for, or for all."""
    wanted = set(arguments.lot or ())
    unknown = wanted - {lot.number for lot in lots.lots}
    if unknown:
        raise SettingsError(
            "--lot",
            "no such lot in the list, or none that could be priced",
            got=", ".join(sorted(unknown)),
            remedy="Write it as the catalogue does",
        )
    chosen = [lot for lot in lots.lots if not wanted or lot.number in wanted]
    valued = lot_candidates(market, chosen, costs, as_of=arguments.as_of)
    sheets = []
    with Progress() as bar:
        for i, (lot, candidate, day) in enumerate(valued, start=1):
            sheet = bid_sheet(
                candidate.prospect,
                car=candidate.car.name,
                way=way_for(costs, lot.car, lot.venue),
                costs=costs,
                as_of=day,
                preparation=candidate.preparation,
            )
            told = (*sheet.warnings, *lot.remarks)
            sheets.append(replace(sheet, lot=lot.number, warnings=told))
            bar(i, len(chosen), "making lot sheets")
    return sheets
