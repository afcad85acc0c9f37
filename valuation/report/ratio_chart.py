"""Ratios as pictures: the median of each stratum, and of each group of like value."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.report.dot_chart import Dot, dots_figure, ratio_scale
from valuation.report.drawing import in_both_widths
from valuation.report.page import Chart
from valuation.results.ratio_parts import Measure, StrataKind, Stratum
from valuation.results.ratio_words import value_words
from valuation.scoring.equity import Vei
from valuation.scoring.ratio_study import BANDS

__all__ = ["level_chart", "value_groups_chart"]

_BAND = (BANDS["median_ratio"].lower, BANDS["median_ratio"].upper)

_CAPTION = (
    "Dot: median of estimate over price; bar: its 95% interval; hatched: accepted; dashed: level "
    "with prices. Open dot: outside, which may be chance; open diamond and bold: outside by more "
    "than chance explains. Arrow: the bar goes on. To the left estimates are too low."
)

_GROUPS_CAPTION = (
    "All sales cut into groups of like value, half price and half estimate. Dot: median of "
    "estimate over price; bar: its 90% interval; hatched: accepted level; dashed: level with "
    "prices. Dots that move to the left on the way down value dear cars lower than cheap ones."
)


def level_chart(kind: StrataKind, overall: Stratum) -> Chart | None:
    """Draw the median ratio of each stratum of a kind below that of all sales.

    Parameters
    ----------
    kind : StrataKind
        The strata.
    overall : Stratum
        All sales.

    Returns
    -------
    Chart or None
        None if no sale has an estimate.
    """
    rows = [(s, m) for s in (overall, *kind.strata) if (m := s.measure("median_ratio"))]
    if not rows:
        return None
    dots = [_dot(stratum, measure) for stratum, measure in rows]
    scale = ratio_scale("Median of estimate over price", _BAND)
    wide, narrow = in_both_widths(
        lambda slim: dots_figure(dots, scale, narrow=slim),
        name=f"ratios-{kind.by.replace(' ', '-')}",
        title=f"Median of estimate over price, {kind.label[:1].lower()}{kind.label[1:]}",
        description=_describe(dots),
    )
    return Chart(wide, narrow, _CAPTION)


def _dot(stratum: Stratum, measure: Measure) -> Dot:
    name = f"pooled: {len(stratum.pooled)} groups" if len(stratum.pooled) > 1 else stratum.name
    interval = measure.interval
    shape = "inside" if measure.verdict == "inside" else "beyond" if measure.proven else "doubtful"
    return Dot(
        name,
        measure.value,
        interval.lower if interval else None,
        interval.upper if interval else None,
        f"{measure.value:.2f}",
        shape,
    )


def value_groups_chart(vei: Vei) -> Chart:
    """Draw the median ratio of each group of like value.

    Parameters
    ----------
    vei : Vei
        The groups, from the cheapest to the dearest.
    """
    dots = [
        Dot(
            _group_name(place, len(vei.groups)),
            group.median,
            group.interval.lower,
            group.interval.upper,
            f"{group.median:.2f}",
        )
        for place, group in enumerate(vei.groups)
    ]
    scale = ratio_scale("Median of estimate over price", _BAND)
    wide, narrow = in_both_widths(
        lambda slim: dots_figure(dots, scale, narrow=slim),
        name="value-groups",
        title="Median of estimate over price, from the cheapest to the dearest cars",
        description=_describe(dots),
    )
    return Chart(wide, narrow, _GROUPS_CAPTION)


def _group_name(place: int, count: int) -> str:
    ends = {0: "cheapest", count - 1: "dearest"}
    end = ends.get(place)
    return f"group {place + 1}, {end}" if end else f"group {place + 1}"


def _describe(dots: Sequence[Dot]) -> str:
    return " ".join(f"{d.name}: {_said(d)}." for d in dots)


def _said(dot: Dot) -> str:
    said = value_words("median_ratio", dot.value)
    if dot.low is None or dot.high is None:
        return said
    low, high = (value_words("median_ratio", x) for x in (dot.low, dot.high))
    return f"{said}, from {low} to {high}"
