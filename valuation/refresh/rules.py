"""The rules by which a candidate replaces the model in use, each with its reason.

A rule is broken only by more than chance explains.  What the model in use gets wrong as well, on
the same sales and no less, is no reason to keep it: an old model is not right because the market
moved away from both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from valuation.refresh.measures import (
    Measure,
    coverage,
    judged,
    middle_error,
    of_study,
    paired,
    surely_further,
)
from valuation.refresh.settings import MonthRules
from valuation.results.decision import Decision, RuleCheck, Weighed
from valuation.scoring.ratio_study import ratio_study

__all__ = ["Weighing", "decide"]

LEAST_TESTED = 30
"""Fewest sales from which the study says anything."""

FAR = 2.0
"""A first model whose ranges or level miss by this many widths of the allowed span is refused."""

REPLICATIONS = 2000
"""Redrawn samples behind an interval."""


@dataclass(frozen=True)
class Weighing:
    """What a decision rests on.

    Parameters
    ----------
    own : pandas.DataFrame
        Forecasts of the candidate, each month learned anew.
    in_use : pandas.DataFrame
        Forecasts of the versions that were in use at the time, of the same months as far as there
        was one; no rows for a first model.
    candidate, version : str
        Version of the candidate, and of the model in use, empty for none.
    as_of : datetime.date or None
        Day up to which the evidence reaches.
    new_sales, unseen_sales : int
        Sales that came since the model in use, and those of them whose model line it never saw.
    panel : sequence of float
        Log change of each car of the panel between the two models.
    changed : bool
        Whether sales that the model in use rests on were taken out or mended since.
    """

    own: pd.DataFrame
    in_use: pd.DataFrame
    candidate: str
    version: str
    as_of: date | None
    new_sales: int
    unseen_sales: int
    panel: Sequence[float] = ()
    changed: bool = False


def decide(weighing: Weighing, rules: MonthRules, *, seed: int) -> Decision:
    """Weigh a candidate by every rule.

    Parameters
    ----------
    weighing : Weighing
        What is known of it.
    rules : MonthRules
        Limits.
    seed : int
        Of the redrawn samples behind intervals.

    Returns
    -------
    Decision
        Published unless a rule refuses.
    """
    checks = tuple(_checks(weighing, rules, seed))
    publish = all(c.weighed != "refuses" for c in checks)
    w = weighing
    return Decision(publish, w.candidate, w.version, w.as_of, checks)


def _checks(w: Weighing, rules: MonthRules, seed: int) -> Iterator[RuleCheck]:
    own = judged(w.own)
    both = _both(own, judged(w.in_use))
    moved = _moved(both, rules)
    yield _new_sales(w, rules)
    yield _unseen(w, rules)
    yield _accuracy(both, rules, seed)
    yield from _quality(own, both, rules, seed)
    yield moved
    yield _panel(w, rules, moved.weighed == "warns", _foretold(both, rules, seed))


def _both(own: pd.DataFrame, in_use: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the forecasts of the sales that both priced, in one order."""
    key = "sale_key" if "sale_key" in own and "sale_key" in in_use else "sale_id"
    if in_use.empty:
        return own.iloc[:0], in_use
    common = own[key][own[key].isin(in_use[key])].drop_duplicates()
    ours, theirs = (f.drop_duplicates(key).set_index(key).loc[common] for f in (own, in_use))
    return ours.reset_index(), theirs.reset_index()


def _new_sales(w: Weighing, rules: MonthRules) -> RuleCheck:
    rule, found = "new sales", f"{w.new_sales:,}"
    limit = f"{rules.least_new_sales:,} or more"
    if not w.version:
        return RuleCheck(rule, "holds", found, "", "This is the first model.")
    if w.new_sales >= rules.least_new_sales:
        why = f"{found} sales came since {w.version}."
        return RuleCheck(rule, "holds", found, limit, why)
    few = "No sale" if not w.new_sales else f"Only {found} sales"
    if w.changed:
        why = f"{few} came since {w.version}, but sales it rests on were taken out or mended."
        return RuleCheck(rule, "warns", found, limit, why)
    return RuleCheck(rule, "refuses", found, limit, f"{few} came since {w.version}.")


def _unseen(w: Weighing, rules: MonthRules) -> RuleCheck:
    rule, limit = "unseen model lines", f"up to {rules.unseen_percent:g}%"
    if not w.new_sales or not w.version:
        return RuleCheck(rule, "not tested", "", limit, "There is nothing to compare with.")
    share = 100 * w.unseen_sales / w.new_sales
    found = f"{share:.0f}% of the new sales"
    why = f"{found} are of model lines that {w.version} had never seen."
    weighed: Weighed = "warns" if share > rules.unseen_percent else "holds"
    return RuleCheck(rule, weighed, found, limit, why)


def _accuracy(both: tuple[pd.DataFrame, pd.DataFrame], rules: MonthRules, seed: int) -> RuleCheck:
    rule = "error against the model in use"
    limit = f"up to {rules.worse_by:g} points worse"
    own, in_use = both
    if len(own) < LEAST_TESTED:
        why = f"Only {len(own)} sales were priced by both; {LEAST_TESTED} are needed."
        return RuleCheck(rule, "not tested", f"{len(own)} sales", limit, why)
    apart = paired(own, in_use, seed=seed, replications=REPLICATIONS)
    found = f"{apart.value:+.2f} points ({apart.low:+.2f} to {apart.high:+.2f})"
    how = "smaller" if apart.value < 0 else "larger"
    why = (
        f"On {len(own):,} sales that both priced without knowing them, the candidate's mean error "
        f"is {abs(apart.value):.2f} points {how} ({apart.low:+.2f} to {apart.high:+.2f})."
    )
    weighed: Weighed = "refuses" if apart.low > rules.worse_by else "holds"
    return RuleCheck(rule, weighed, found, limit, why)


@dataclass(frozen=True, slots=True)
class _Quality:
    """A measure with a span: its rule, its name in the settings, how its value is written.

    Where `hard`, a first model far outside is refused.
    """

    rule: str
    span: str
    form: str
    hard: bool


_QUALITY = (
    _Quality("ranges that held", "ranges_percent", "{:.1f}%", True),
    _Quality("median estimate over price", "median_ratio", "{:.3f}", True),
    _Quality("coefficient of dispersion (COD)", "cod", "{:.1f}", False),
    _Quality("price-related bias (PRB)", "prb", "{:+.3f}", False),
    _Quality("vertical equity (VEI)", "vei_percent", "{:+.1f}%", False),
)


def _quality(
    own: pd.DataFrame,
    both: tuple[pd.DataFrame, pd.DataFrame],
    rules: MonthRules,
    seed: int,
) -> Iterator[RuleCheck]:
    if len(own) < LEAST_TESTED:
        why = f"Only {len(own)} sales were priced before they were known."
        yield RuleCheck("the study", "warns", f"{len(own)} sales", f"{LEAST_TESTED} or more", why)
        return
    study = ratio_study(own["price"], own["central"], seed=seed)
    for quality in _QUALITY:
        name = quality.span
        found = coverage(own) if name == "ranges_percent" else of_study(study, name)
        yield _weigh(quality, found, both, getattr(rules, name), seed)


def _weigh(
    quality: _Quality,
    found: Measure | None,
    both: tuple[pd.DataFrame, pd.DataFrame],
    span: tuple[float, float],
    seed: int,
) -> RuleCheck:
    rule, form = quality.rule, quality.form
    limit = " to ".join(form.replace("+", "").format(x) for x in span)
    if found is None:
        return RuleCheck(rule, "not tested", "", limit, f"Too few sales for {rule}.")
    said = f"{form.format(found.value)} ({form.format(found.low)} to {form.format(found.high)})"
    if not found.breaks(span):
        chance = "" if not found.beyond(span) else ", outside by no more than chance explains"
        return RuleCheck(rule, "holds", said, limit, f"{_capital(rule)}: {said}{chance}.")
    why = f"{_capital(rule)}: {said}, where {limit} is allowed"
    if len(both[0]) < LEAST_TESTED:
        far = quality.hard and found.beyond(span) > FAR * (span[1] - span[0])
        weighed: Weighed = "refuses" if far else "warns"
        return RuleCheck(rule, weighed, said, limit, f"{why}; there is nothing to compare it with.")
    worse = surely_further(
        *both,
        quality.span,
        span,
        seed=seed,
        replications=REPLICATIONS // 2,
        of=len(_QUALITY),
    )
    if worse:
        told = f"{why}; the model in use does better on the same sales, by more than chance."
        return RuleCheck(rule, "refuses", said, limit, told)
    told = f"{why}; the model in use does no better on the same sales than chance explains."
    return RuleCheck(rule, "warns", said, limit, told)


def _moved(both: tuple[pd.DataFrame, pd.DataFrame], rules: MonthRules) -> RuleCheck:
    """Say whether both models miss the last month to one side."""
    rule, limit = "the market's level in the last month", f"within {rules.moved_percent:g}%"
    own, in_use = both
    last = own["month"].max() if len(own) else ""
    missed = [middle_error(f[f["month"] == last]) for f in (own, in_use)]
    if missed[0] is None or missed[1] is None:
        return RuleCheck(rule, "not tested", "", limit, "Too few sales of the last month.")
    ours, theirs = missed[0], missed[1]
    found = f"{theirs.value:+.1f}% ({theirs.low:+.1f}% to {theirs.high:+.1f}%)"
    span = (-rules.moved_percent, rules.moved_percent)
    together = np.sign(ours.value) == np.sign(theirs.value)
    sure = all(m.beyond(span) and (m.low > 0 or m.high < 0) for m in (ours, theirs))
    if together and sure:
        way = "rose" if theirs.value < 0 else "fell"
        why = (
            f"The market {way} in {last}: prices lay {abs(theirs.value):.1f}% from what the model "
            "in use said, and as far from the candidate's forecast; the newer model knows it."
        )
        return RuleCheck(rule, "warns", found, limit, why)
    return RuleCheck(rule, "holds", found, limit, f"In {last} the model in use missed by {found}.")


def _foretold(both: tuple[pd.DataFrame, pd.DataFrame], rules: MonthRules, seed: int) -> bool:
    """Tell whether models with the newer sales surely forecast better than the one in use.

    A move that foretells prices of later months is one of the market; wrong amounts foretell none.
    Without it a model that once was refused after a fall would be refused for ever.
    """
    own, in_use = both
    if len(own) < LEAST_TESTED:
        return False
    apart = paired(own, in_use, seed=seed, replications=REPLICATIONS)
    return apart.high < -rules.worse_by


def _panel(w: Weighing, rules: MonthRules, moved: bool, foretold: bool) -> RuleCheck:
    rule, limit = "change of the panel", f"up to {rules.panel_percent:g}% in the middle"
    if not len(w.panel):
        return RuleCheck(rule, "not tested", "", limit, "There is no panel to compare.")
    middle = 100 * float(np.expm1(np.median(w.panel)))
    found = f"{middle:+.1f}%"
    why = f"The {len(w.panel)} cars of the panel changed by {found} in the middle"
    if abs(middle) <= rules.panel_percent:
        return RuleCheck(rule, "holds", found, limit, f"{why}.")
    if moved:
        return RuleCheck(rule, "warns", found, limit, f"{why}, as the market did.")
    if foretold:
        why = f"{why}, and forecasts that knew of it were surely closer to later prices"
        return RuleCheck(rule, "warns", found, limit, f"{why}.")
    why = f"{why}, and no move of the market explains it: look for a file in the wrong amounts"
    return RuleCheck(rule, "refuses", found, limit, f"{why}.")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
