"""The firm's cost settings file: read, checked as a whole, all faults told at once."""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path

from valuation.bidding.costs import Costs
from valuation.bidding.costs_file_buying import ways_of_buying
from valuation.bidding.costs_file_entries import CostEntries, exact_number
from valuation.bidding.costs_file_firm import (
    cures_of,
    holding_of,
    selling_of,
    target_of,
    winning_of,
)
from valuation.bidding.costs_file_lines import listed_lines
from valuation.errors import CostsError
from valuation.importing.car_value import Wrong, all_wrong

__all__ = ["costs_from_toml", "example_costs", "read_costs"]


def example_costs() -> str:
    """Return the text of the commented example of a cost settings file."""
    source = resources.files("valuation") / "data" / "costs.toml"
    return source.read_text(encoding="utf-8")


def read_costs(path: str | Path) -> Costs:
    """Read a firm's cost settings.

    Parameters
    ----------
    path : str or pathlib.Path
        TOML file; see ``valuation/data/costs.toml`` for the form.  A record of won purchases that
        it names stands in the same folder.

    Returns
    -------
    Costs
        Checked; amounts are the decimals that stand in the file.

    Raises
    ------
    CostsError
        If the file can't be read or holds wrong entries; all of them are named.
    """
    path = Path(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise CostsError(
            path.name,
            "the cost settings can't be read",
            got=error.strerror or str(error),
            remedy="Check the path",
        ) from error
    except UnicodeDecodeError as error:
        raise CostsError(
            path.name,
            "this is not valid TOML",
            got=f"no text in UTF-8: {error.reason}",
            remedy="Save it as UTF-8",
        ) from error
    return costs_from_toml(text, where=path.name, folder=path.parent)


def costs_from_toml(text: str, *, where: str, folder: Path) -> Costs:
    """Read cost settings from their text.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        Name for messages.
    folder : pathlib.Path
        Where a record of won purchases is looked for.

    Raises
    ------
    CostsError
        With every wrong entry, what it has to be and what came.
    """
    try:
        raw = tomllib.loads(text, parse_float=exact_number)
    except (ValueError, RecursionError) as error:
        raise CostsError(
            where, "this is not valid TOML", got=str(error), remedy="Mend the line named"
        ) from error
    faults: list[Wrong] = []
    e = CostEntries(raw, "", faults)
    made = _costs(e, where, folder)
    e.end()
    if faults:
        what, remedy = all_wrong(faults)
        raise CostsError(where, what, remedy=remedy)
    return made


def _costs(e: CostEntries, where: str, folder: Path) -> Costs:
    home = e.code("currency")
    if not e.has("currency"):
        e.wrong("currency", "nothing", 'a code of ISO 4217, such as "USD"')
    target = target_of(e)
    buying = e.table("buying")
    if buying is None and not e.has("buying"):
        e.wrong("buying", "nothing", "a table [buying.default], and one for each venue")
    return Costs(
        currency=home,
        ways=ways_of_buying(buying, home) if buying else {},
        target=target,
        work=listed_lines(e, "work") or (),
        holding=holding_of(e),
        selling=selling_of(e),
        winning=winning_of(e, home, folder),
        cures=cures_of(e, home),
        where=where,
    )
