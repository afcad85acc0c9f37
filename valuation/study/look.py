"""The sales of a market that should be looked at, and what would change without each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import label_of, sale_title
from valuation.results.look import (
    LOOK_KINDS,
    Change,
    LookList,
    LookReason,
    SaleToLookAt,
    count_kinds,
)
from valuation.study.leave_out import FittedSales, Moves
from valuation.study.look_chassis import contradictions
from valuation.study.look_errors import sale_errors
from valuation.study.look_groups import off_words, sources_off
from valuation.study.look_settings import LookSettings

__all__ = ["sales_to_look_at"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Reasons = dict[int, list[LookReason]]


def sales_to_look_at(
    market: MarketModel, *, settings: LookSettings | None = None, most: int = 50
) -> LookList:
    """Go through the sales of a market and name those that should be looked at.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    settings : LookSettings, optional
        Limits; the defaults without it.
    most : int, default 50
        How many sales the list names at most.

    Returns
    -------
    LookList
        Those on which most hangs first: the largest change in money among their own estimate, the
        typical car of their model line and the line of the explanation they move most.  Estimates
        are those of the regression: the closest sales come on top of it.
    """
    settings = settings or LookSettings()
    return _Looker(market, settings).listed(most)


class _Looker:
    """What is worked out once for the whole list."""

    def __init__(self, market: MarketModel, settings: LookSettings) -> None:
        self.market, self.settings = market, settings
        self.sales = FittedSales(market)
        up = np.array(settings.factors)
        self.factors = np.concatenate([up, 1.0 / up])
        self.errors, self.wrong = sale_errors(
            self.sales, factors=self.factors, mistyped=settings.mistyped
        )
        # A highest bid that is only a lower bound is no price that could be wrong in itself.
        self.priced = ~self.sales.data.bound
        df = market.settings.robust_df
        self._most_weight = 1.0 if df is None else (df + 1.0) / df
        self.moves: dict[int, Moves] = {}

    def listed(self, most: int) -> LookList:
        """Return the list."""
        market = self.market
        patterns = sources_off(self.sales, self.errors.error, self.errors.spread, self.settings)
        found = self._reasons()
        for pattern, rows in patterns:
            for i in set(rows.tolist()) & set(found):
                found[i].append(LookReason(pattern.kind, f"{pattern.who}: {pattern.sentence}"))
        items = [self._item(i, found[i]) for i in sorted(found)]
        shown = tuple(sorted(_first(items, most), key=lambda s: -s.at_stake))
        counted = count_kinds(tuple(item.reasons for item in items))
        return LookList(
            market.currency,
            market.as_of,
            len(self.sales),
            shown,
            tuple(p for p, _ in patterns),
            counted,
            len(items) - len(shown),
            self._notes(counted),
        )

    def _reasons(self) -> Reasons:
        """Return why each sale should be looked at, the clearest kind first."""
        found: Reasons = {}
        self._by_factor(found)
        self._by_chassis(found)
        self._odd(found)
        self._influential(found)
        for reasons in found.values():
            reasons.sort(key=lambda r: LOOK_KINDS.index(r.kind))
        return found

    def _by_factor(self, found: Reasons) -> None:
        likely = self.wrong.max(1)
        for i in np.flatnonzero(self.priced & (self.wrong.sum(1) >= self.settings.likely)).tolist():
            factor = float(self.factors[int(np.argmax(self.wrong[i]))])
            chance = float(likely[i])
            said = (
                f"{_times(factor)} what such cars bring: {_chance(chance)} mistyped rather than "
                "unusual"
            )
            found.setdefault(i, []).append(LookReason("price off by a factor", f"{said}.", chance))

    def _by_chassis(self, found: Reasons) -> None:
        frame = self.sales.data.frame
        told = contradictions(frame, self.errors.error, self.errors.spread, self.settings)
        for i, sentences in told.items():
            said = [LookReason("contradictory", f"{s}.") for s in sentences]
            found.setdefault(i, []).extend(said)

    def _odd(self, found: Reasons) -> None:
        spreads = self.errors.spreads
        for i in np.flatnonzero(self.priced & (np.abs(spreads) >= self.settings.odd)).tolist():
            size = float(spreads[i])
            chance = self.errors.noise.beyond(abs(size)) * len(self.sales)
            said = (
                f"{off_words(float(self.errors.error[i]))} what the others say of it, "
                f"{abs(size):.1f} times the usual spread; by chance {_about(chance)} of "
                f"{len(self.sales):,} would lie so far off"
            )
            found.setdefault(i, []).append(LookReason("odd", f"{said}."))

    def _influential(self, found: Reasons) -> None:
        """Name what moves a figure by more than its limit."""
        s, sales = self.settings, self.sales
        typical, own = (100 * np.expm1(np.abs(x)) for x in (sales.typical, sales.own))
        order = np.argsort(-np.abs(sales.own), kind="stable")
        examined = np.sort(order[: s.examined])
        self.moves = dict(zip(examined.tolist(), sales.moves(examined), strict=True))
        line = np.zeros(len(sales))
        for i, moves in self.moves.items():
            line[i] = 100 * np.expm1(float(np.abs(moves.lines).max()))
        mask = (typical >= s.typical_change) | (own >= s.own_change) | (line >= s.line_change)
        for i in np.flatnonzero(mask).tolist():
            said = f"{self._most_moved(i)}; it bears {100 * sales.leverage[i]:.0f}% of its estimate"
            found.setdefault(i, []).append(LookReason("influential", f"{said}."))

    def _most_moved(self, i: int) -> str:
        """Say what a sale moves most."""
        changes = [c for c in self._changes(i) if c is not None]
        most = max(changes, key=lambda c: abs(c.per_cent))
        return f"without it {most.of} would be {abs(most.per_cent):.1f}% {_side(most.per_cent)}"

    def _moved(self, i: int) -> Moves:
        if i not in self.moves:
            (self.moves[i],) = self.sales.moves(np.array([i], dtype=np.intp))
        return self.moves[i]

    def _changes(self, i: int) -> tuple[Change, Change, Change | None]:
        """Return what would change of its estimate, of the typical car, of a line."""
        moves, attributes = self._moved(i), self.market.fitted.spec.attributes
        fitted = float(np.exp(self.sales.fitted[i]))
        line = self.sales.design.line[i]
        name = _line_words(self.sales.data.frame, i, self.market.fitted.spec.lines[line])
        own = _change("its own estimate", fitted, moves.own)
        typical = _change(f"the typical {name}", moves.typical_price, moves.typical)
        start = np.array([a == "start" for a in attributes])
        lines = np.where(start, 0.0, moves.lines)
        k = int(np.argmax(np.abs(lines)))
        if not lines[k]:
            return own, typical, None
        label = label_of(attributes[k])
        return own, typical, _change(f"such a car for its line “{label}”", fitted, float(lines[k]))

    def _price(self, i: int) -> float:
        return float(self.market.columns["price"][i])

    def _item(self, i: int, reasons: list[LookReason]) -> SaleToLookAt:
        cells: dict[str, Any] = {name: v[i] for name, v in self.market.columns.items()}
        own, typical, line = self._changes(i)
        day = cells["sale_date"]
        return SaleToLookAt(
            _text(cells, "sale_key"),
            _text(cells, "sale_id"),
            _text(cells, "file"),
            int(cells["row"]),
            _text(cells, "batch"),
            sale_title(cells),
            None if np.isnat(day) else day.astype("datetime64[D]").item(),
            _text(cells, "venue"),
            _text(cells, "basis"),
            _text(cells, "outcome"),
            round(self._price(i)),
            max(round(float(np.exp(self.sales.fitted[i] + self.sales.own[i]))), 1),
            float(self.sales.weights[i] / self._most_weight),
            tuple(reasons),
            own,
            typical,
            line,
        )

    def _notes(self, counted: Mapping[str, int]) -> tuple[str, ...]:
        """Say what was not looked at, and how prices that are only a little off are missed."""
        notes = []
        usual = 100 * float(np.median(self.errors.spread))
        if counted.get("price off by a factor", 0) or usual > 12:
            notes.append(
                f"Errors of {usual:.0f}% are usual here: a price off by less than about "
                f"{100 * float(np.expm1(self.settings.odd * np.median(self.errors.spread))):.0f}% "
                "can't be told from an unusual car."
            )
        return tuple(notes)


def _first(items: list[SaleToLookAt], most: int) -> list[SaleToLookAt]:
    """Return the sales that the list names where not all find room.

    What is most likely wrong comes before what is merely unusual or much relied on: the fit
    already distrusts a lost digit, so that little hangs on it, and it has to be put right for all
    that.
    """
    clear = [set(LOOK_KINDS[:2]).isdisjoint(item.kinds) for item in items]
    order = sorted(range(len(items)), key=lambda k: (clear[k], -items[k].at_stake, k))
    return [items[k] for k in sorted(order[:most])]


def _change(of: str, before: float, step: float) -> Change:
    after = before * float(np.exp(step))
    return Change(of, round(before), round(after), 100 * float(np.expm1(step)))


def _times(factor: float) -> str:
    if factor >= 1:
        return f"About {factor:,.0f} times"
    return "About half" if factor == 0.5 else f"About 1/{1 / factor:,.0f} of"


def _chance(chance: float) -> str:
    return "almost surely" if chance > 0.99 else f"{100 * chance:.0f}% likely"


def _about(count: float) -> str:
    return f"about {count:.0f}" if count >= 1 else "fewer than one"


def _side(per_cent: float) -> str:
    return "higher" if per_cent > 0 else "lower"


def _line_words(frame: Any, i: int, line: str) -> str:
    names = [frame[n].iat[i] for n in ("make", "model", "generation")]
    said = " ".join(str(v) for v in names if isinstance(v, str) and v)
    return said or line


def _text(cells: Mapping[str, Any], name: str) -> str:
    value = cells.get(name)
    return value if isinstance(value, str) else ""
