"""``valuation batches``: list the files that were read in, or decide about one."""

from __future__ import annotations

from argparse import Namespace

from valuation.cli.inputs import now, who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.evidence.batches import (
    Batch,
    accept_batch,
    batch,
    batches,
    hold_batch,
    restore_batch,
    undo_batch,
)
from valuation.evidence.ledger_in import ledger_rows_set_aside
from valuation.evidence.opening import reading, writing
from valuation.evidence.read_file import rows_set_aside

__all__ = ["run"]

FORMAT = 1

_DECISIONS = {
    "undo": undo_batch,
    "hold": hold_batch,
    "accept": accept_batch,
    "restore": restore_batch,
}


def run(arguments: Namespace) -> None:
    """Do what was asked for with the batches."""
    if arguments.act in _DECISIONS:
        _decide(arguments)
    elif arguments.act == "show":
        _show(arguments)
    else:
        _list(arguments)


def _list(arguments: Namespace) -> None:
    with reading(workspace_of_arguments(arguments)) as con:
        found = batches(con)
    if arguments.json:
        print_json({"format": FORMAT, "batches": [b.to_dict() for b in found]})
        return
    for b in found:
        print(b.summary())


def _show(arguments: Namespace) -> None:
    with reading(workspace_of_arguments(arguments)) as con:
        found = batch(con, arguments.batch)
        if found.kind == "ledger":
            rows_of = ledger_rows_set_aside(con, found.batch)
            aside = tuple((f"{found.batch}:{row.row}", row) for row in rows_of)
        else:
            aside = rows_set_aside(con, found.batch)
    if arguments.json:
        rows = [
            {
                "sale_key": key,
                "file": row.file,
                "row": row.row,
                "faults": [
                    {"code": f.code, "column": f.column, "got": f.got, "remedy": f.remedy}
                    for f in row.faults
                ],
            }
            for key, row in aside
        ]
        print_json(found.to_dict() | {"rows_set_aside": rows})
        return
    print(found.summary())
    for note in found.notes:
        print(f"  - {note}")
    if aside:
        print("\nRows set aside:")
    for key, row in aside:
        said = "; ".join(f.code + (f" ({f.got})" if f.got else "") for f in row.faults)
        print(f"  {key}  {said}")
    if found.source_map:
        print(f"\nMap by which it was read:\n\n{found.source_map}", end="")


def _decide(arguments: Namespace) -> None:
    who, moment = who_of(arguments), now()
    doing = f"deciding about batch {arguments.batch}"
    workspace = workspace_of_arguments(arguments)
    with writing(workspace, who=who, now=moment, doing=doing) as con:
        done: Batch = _DECISIONS[arguments.act](
            con, arguments.batch, reason=arguments.reason, who=who, now=moment
        )
    if arguments.json:
        print_json(done.to_dict())
    else:
        print(done.summary())
