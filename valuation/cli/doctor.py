"""``valuation doctor``: find out whether the evidence is whole, save it, make it again."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.inputs import now, who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.errors import EvidenceError
from valuation.evidence.examine import Diagnosis, examine
from valuation.evidence.rebuild import Rebuilt, rebuild
from valuation.evidence.salvage import Saved, save_tables
from valuation.evidence.workspace import Workspace

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Examine the evidence; save and make it again if that was asked for."""
    workspace = workspace_of_arguments(arguments)
    found = examine(workspace)
    done: dict[str, Saved | Rebuilt] = {}
    if not arguments.json:
        print(found.summary())
    for name, act in (("saved", _save), ("rebuilt", _rebuild)):
        result = act(arguments, workspace)
        if result:
            done[name] = result
            if not arguments.json:
                print(f"\n{result.summary()}")
    if arguments.json:
        print_json(found.to_dict() | {name: result.to_dict() for name, result in done.items()})
    if found.faults and not arguments.rebuild:
        raise _refusal(found, workspace)


def _refusal(found: Diagnosis, workspace: Workspace) -> EvidenceError:
    return EvidenceError(
        str(workspace.root),
        "the evidence is not whole",
        got=found.faults[0].sentence.rstrip("."),
        remedy="Each fault stands above with what to do",
    )


def _save(arguments: Namespace, workspace: Workspace) -> Saved | None:
    if not arguments.save:
        return None
    with Progress() as progress:
        return save_tables(workspace, Path(arguments.save), progress=progress)


def _rebuild(arguments: Namespace, workspace: Workspace) -> Rebuilt | None:
    if not arguments.rebuild:
        return None
    with Progress() as progress:
        return rebuild(workspace, who=who_of(arguments), now=now(), progress=progress)
