"""What people decided about single sales: set aside, values put right, taken back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any, Literal

import duckdb

from valuation.errors import EvidenceError
from valuation.evidence.batches import currency_of
from valuation.evidence.fixes import FixedValue, fixed_values
from valuation.evidence.journal import record
from valuation.schema import BY_NAME

__all__ = [
    "Correction",
    "InForce",
    "fix_sale",
    "history",
    "in_force",
    "restore_sale",
    "set_aside_sale",
]

Action = Literal["set aside", "fix", "restore"]


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing that was decided about a sale.

    Parameters
    ----------
    number : int
        Its number among all changes.
    moment : datetime.datetime
        When, in coordinated universal time.
    who : str
        Who decided it.
    sale_key : str
        The sale.
    action : {"set aside", "fix", "restore"}
        The sale does not count; a field has another value; the sale counts again as it came.
    field : str
        Field that is fixed, empty otherwise.
    value : FixedValue
        Its value from then on, None for not stated.
    stated : str
        What was typed.
    reason : str
        Why.
    """

    number: int
    moment: datetime
    who: str
    sale_key: str
    action: Action
    field: str
    value: FixedValue
    stated: str
    reason: str

    def summary(self) -> str:
        """Return it as one line for people."""
        what = f"{self.field} = {self.stated}" if self.action == "fix" else self.action
        return f"{self.moment:%Y-%m-%d %H:%M}  {self.who}: {what} ({self.reason})"

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "moment": self.moment.isoformat(),
            "who": self.who,
            "action": self.action,
            "field": self.field,
            "value": _to_plain(self.value),
            "stated": self.stated,
            "reason": self.reason,
        }


@dataclass(frozen=True)
class InForce:
    """The corrections that count now.

    Parameters
    ----------
    set_aside : mapping of str to Correction
        Sales that don't count, by key.
    fixes : mapping of str to mapping of str to Correction
        Values that were put right, by key and field.
    """

    set_aside: dict[str, Correction] = field(default_factory=dict)
    fixes: dict[str, dict[str, Correction]] = field(default_factory=dict)


def _to_plain(value: FixedValue) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return list(value) if isinstance(value, tuple) else value


def _from_plain(name: str, value: Any) -> FixedValue:
    if value is None:
        return None
    if name == "sale_date":
        return date.fromisoformat(value)
    if name in BY_NAME and BY_NAME[name].kind == "set":
        return tuple(value)
    return float(value) if isinstance(value, int | float) else str(value)


def _check(con: duckdb.DuckDBPyConnection, sale_key: str, reason: str) -> None:
    where = f"sale {sale_key}"
    if not con.execute("SELECT 1 FROM sales WHERE sale_key = ?", [sale_key]).fetchall():
        never = "SELECT 1 FROM rows_set_aside WHERE sale_key = ?"
        if con.execute(never, [sale_key]).fetchall():
            raise EvidenceError(
                where,
                "this row was set aside when its file was read and never became a sale",
                remedy="Put the file right and read it in again",
            )
        raise EvidenceError(
            where, "there is no such sale", remedy="Name it as batch:row, such as 1f60af764346:12"
        )
    if not reason.strip():
        raise EvidenceError(where, "a correction needs a reason", remedy="Say why with --reason")


def set_aside_sale(
    con: duckdb.DuckDBPyConnection, sale_key: str, *, reason: str, who: str, now: datetime
) -> None:
    """Let a sale count no more.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    sale_key : str
        Batch and row.
    reason : str
        Why.
    who : str
        Who decided it.
    now : datetime.datetime
        When.

    Raises
    ------
    EvidenceError
        If there is no such sale, no reason, or it is set aside already.
    """
    _check(con, sale_key, reason)
    known = in_force(con, [sale_key]).set_aside.get(sale_key)
    if known:
        raise EvidenceError(f"sale {sale_key}", "it is set aside already", got=known.reason)
    row = {"sale_key": sale_key, "action": "set aside", "reason": reason.strip()}
    record(con, "corrections", row, who=who, now=now)


def fix_sale(
    con: duckdb.DuckDBPyConnection,
    sale_key: str,
    values: Mapping[str, str],
    *,
    reason: str,
    who: str,
    now: datetime,
) -> dict[str, FixedValue]:
    """Put values of a sale right.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    sale_key : str
        Batch and row.
    values : mapping of str to str
        What is typed for each attribute or sale field, read as in a car file; ``not stated`` takes
        a value away.
    reason : str
        Why.
    who : str
        Who decided it.
    now : datetime.datetime
        When.

    Returns
    -------
    dict of str to value
        Every field that has another value from then on.

    Raises
    ------
    EvidenceError
        If there is no such sale, no reason, or an entry is wrong; all of them are named.
    """
    _check(con, sale_key, reason)
    read = fixed_values(values, currency=currency_of(con), where=f"sale {sale_key}")
    for name, (value, stated) in read.items():
        row = {
            "sale_key": sale_key,
            "action": "fix",
            "field": name,
            "value": json.dumps(_to_plain(value), ensure_ascii=False),
            "stated": stated,
            "reason": reason.strip(),
        }
        record(con, "corrections", row, who=who, now=now)
    return {name: value for name, (value, _) in read.items()}


def restore_sale(
    con: duckdb.DuckDBPyConnection, sale_key: str, *, reason: str, who: str, now: datetime
) -> None:
    """Let a sale count again as it came; all earlier corrections of it lapse.

    Parameters
    ----------
    con, sale_key, reason, who, now
        As for :func:`set_aside_sale`.

    Raises
    ------
    EvidenceError
        If there is no such sale, no reason, or nothing to take back.
    """
    _check(con, sale_key, reason)
    known = in_force(con, [sale_key])
    if not (known.set_aside or known.fixes):
        raise EvidenceError(f"sale {sale_key}", "no correction of it is in force")
    row = {"sale_key": sale_key, "action": "restore", "reason": reason.strip()}
    record(con, "corrections", row, who=who, now=now)


def history(con: duckdb.DuckDBPyConnection, sale_key: str) -> tuple[Correction, ...]:
    """Return everything that was decided about a sale, in order.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    sale_key : str
        Batch and row.
    """
    return _corrections(con, [sale_key])


def _corrections(
    con: duckdb.DuckDBPyConnection, keys: Iterable[str] | None
) -> tuple[Correction, ...]:
    some = None if keys is None else list(keys)
    found = con.execute(
        "SELECT number, moment, who, sale_key, action, coalesce(field, ''), value, "
        "coalesce(stated, ''), coalesce(reason, '') FROM corrections "
        "WHERE ? IS NULL OR list_contains(?, sale_key) ORDER BY number",
        [some, some],
    ).fetchall()
    out = []
    for number, moment, who, key, action, name, value, stated, reason in found:
        read = _from_plain(name, json.loads(value)) if value is not None else None
        out.append(
            Correction(
                number, moment.replace(tzinfo=UTC), who, key, action, name, read, stated, reason
            )
        )
    return tuple(out)


def in_force(con: duckdb.DuckDBPyConnection, keys: Iterable[str] | None = None) -> InForce:
    """Return the corrections that count now: of each sale and field the last one.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    keys : iterable of str, optional
        Only of these sales.
    """
    out = InForce()
    for c in _corrections(con, keys):
        if c.action == "set aside":
            out.set_aside[c.sale_key] = c
        elif c.action == "fix":
            out.fixes.setdefault(c.sale_key, {})[c.field] = c
        else:
            out.set_aside.pop(c.sale_key, None)
            out.fixes.pop(c.sale_key, None)
    return out
