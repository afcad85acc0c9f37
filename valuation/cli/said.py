"""``valuation said``: collect what was said of cars, list it, set a figure in its place."""

from __future__ import annotations

import os
from argparse import Namespace
from datetime import UTC, datetime
from pathlib import Path

from valuation.cli.inputs import who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.errors import SaidFileError
from valuation.evidence.opening import reading
from valuation.evidence.said_files import log_override, read_said_folder
from valuation.evidence.said_in import SaidStore, collect_said, said_of
from valuation.evidence.workspace import workspace_at
from valuation.results.bid_text import bid_words
from valuation.results.said import Override, Said

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Do the step that was asked for."""
    steps = {"collect": _collect, "list": _list, "override": _override}
    steps[arguments.step](arguments)


def _collect(arguments: Namespace) -> None:
    done = collect_said(
        workspace_of_arguments(arguments),
        [Path(folder) for folder in arguments.log_dir],
        who=who_of(arguments),
        now=datetime.now(UTC),
    )
    if arguments.json:
        print_json(done.to_dict())
    else:
        print(done.summary())


def _list(arguments: Namespace) -> None:
    with reading(workspace_of_arguments(arguments)) as con:
        store = said_of(con)
    last = list(store.said.items())[::-1][: arguments.last]
    if arguments.json:
        told = [{"id": i, **s.to_dict(), **_set_in_place(store, i)} for i, s in last]
        print_json({"format": 1, "said": told})
        return
    for identity, said in last:
        print(_line(identity, said, store))
    if not last:
        print("Nothing was said yet, or it was not collected: valuation said collect")


def _set_in_place(store: SaidStore, identity: str) -> dict[str, object]:
    found = store.overrides.get(identity, ())
    return {"overrides": [o.to_dict() for o in found]} if found else {}


def _line(identity: str, said: Said, store: SaidStore) -> str:
    central = "no estimate" if said.central is None else bid_words(said.central, said.currency)
    own = "" if said.own_figure is None else f"; own figure {bid_words(said.own_figure, '')}"
    bid = said.bid.walk_away if said.bid else None
    told = f"; walk-away bid {bid_words(bid, said.bid.currency)}" if said.bid and bid else ""
    over = store.overrides.get(identity, ())
    placed = f"; set to {bid_words(over[-1].figure, '')} ({over[-1].reason})" if over else ""
    when = f"{said.said_at:%Y-%m-%d %H:%M}"
    return f"{identity}  {when}  {said.kind:<5}  {said.car.name}: {central}{told}{own}{placed}"


def _override(arguments: Namespace) -> None:
    """Write the figure as one more small file, beside what it stands in place of."""
    folder = Path(arguments.log_dir) if arguments.log_dir else None
    folder = folder or workspace_at(arguments.workspace, os.environ).said
    of = _whole_id(arguments, folder)
    written = log_override(
        folder,
        of,
        figure=arguments.figure,
        reason=arguments.reason,
        by=who_of(arguments),
        now=datetime.now(UTC).astimezone(),
    )
    if arguments.json:
        print_json({"format": 1, "said": written, "of": of})
    else:
        print(f"Kept as: {written}")


def _whole_id(arguments: Namespace, folder: Path) -> str:
    """Return the whole identity of which some digits are given, from the files or the evidence."""
    asked = arguments.id.strip().lower()
    files = read_said_folder(folder).files
    known = {f.identity for f in files if not isinstance(f.thing, Override)}
    found = sorted(i for i in known if i.startswith(asked))
    if not found and not arguments.log_dir:
        workspace = workspace_of_arguments(arguments)
        if workspace.database.exists():
            with reading(workspace) as con:
                found = sorted(i for i in said_of(con).said if i.startswith(asked))
    if len(found) == 1 and asked:
        return found[0]
    raise SaidFileError(
        "said override",
        "several things that were said begin so" if found and asked else "nothing was said of it",
        got=arguments.id,
        remedy="Give the identity that --log printed, or see: valuation said list",
    )
