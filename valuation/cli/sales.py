"""``valuation sales``: say where a sale comes from, or correct it."""

from __future__ import annotations

from argparse import Namespace

from valuation.cli.inputs import now, who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.errors import EvidenceError
from valuation.evidence.corrections import fix_sale, history, restore_sale, set_aside_sale
from valuation.evidence.opening import reading, writing
from valuation.evidence.story import sale_story

__all__ = ["run"]

FORMAT = 1


def run(arguments: Namespace) -> None:
    """Show a sale, or put a correction on record."""
    if arguments.act == "show":
        _show(arguments)
        return
    workspace = workspace_of_arguments(arguments)
    who, moment, key = who_of(arguments), now(), arguments.sale
    reason = arguments.reason
    with writing(workspace, who=who, now=moment, doing=f"correcting sale {key}") as con:
        if arguments.act == "fix":
            values = _values(arguments.values)
            fix_sale(con, key, values, reason=reason, who=who, now=moment)
        elif arguments.act == "set-aside":
            set_aside_sale(con, key, reason=reason, who=who, now=moment)
        else:
            restore_sale(con, key, reason=reason, who=who, now=moment)
        done = history(con, key)
    if arguments.json:
        print_json({"format": FORMAT, "sale_key": key, "corrections": [c.to_dict() for c in done]})
        return
    for correction in done:
        print(correction.summary())


def _show(arguments: Namespace) -> None:
    workspace = workspace_of_arguments(arguments)
    with reading(workspace) as con:
        story = sale_story(con, workspace, arguments.sale)
    if arguments.json:
        print_json(story.to_dict())
    else:
        print(story.summary())


def _values(entries: list[str]) -> dict[str, str]:
    out = {}
    for entry in entries:
        name, sign, value = entry.partition("=")
        if not sign or not name.strip():
            raise EvidenceError(
                "sales fix",
                "an entry is no ATTRIBUTE=VALUE",
                got=entry,
                remedy='Write it as mileage=48200 or "engine_originality=date-correct"',
            )
        out[name.strip()] = value
    return out
