"""Prices of a batch, or of a part of it, that are off by a common factor."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from valuation.appraisal.market import MarketModel
from valuation.results.screens import ScreenDoubt, Verdict
from valuation.study.batch_prices import BatchPrices, Shift
from valuation.study.screen_limits import ScreenLimits

__all__ = ["part_doubts", "record_move", "whole_doubts"]

Floats = NDArray[np.float64]

_PARTS = {"venue": "of", "channel": "by", "basis": "given as", "make": "of"}
"""Columns by which a part of a batch may be off, with the word that leads to their value."""

_DF = 5.0
_STARTS = tuple(float(np.log(f)) for f in (0.01, 0.1, 0.5, 0.75, 0.87, 1.15, 1.33, 2, 10, 100))
_AT_MIDDLE = float(stats.t.logpdf(0.0, _DF))
_AT_ZERO = float(stats.t.logpdf(0.0, _DF))
_FEWEST_WRONG = 4
_WIDER = (0.85, 1.0, 1.2, 1.5)

_Fit = tuple[float, tuple[float, float], Floats]
"""Log likelihood, log factor and share of what is off, and how likely each sale is among it."""


def record_move(market: MarketModel, *, days: float = 30.4) -> float:
    """Return the largest move of the market level in a month that the model has seen, log units."""
    path = market.levels.of("", "")
    if not len(path.days):
        return 0.0
    ends = path.days[path.days >= path.days[0] + days]
    return float(np.abs(path.at(ends) - path.at(ends - days)).max(initial=0.0))


def whole_doubts(
    market: MarketModel,
    prices: BatchPrices,
    others: Sequence[BatchPrices],
    limits: ScreenLimits,
) -> Iterator[ScreenDoubt]:
    """Doubt a batch whose prices are all off by one factor.

    Where other batches of the same months are at hand, the batch is set beside them, since both
    see one market; without them a move counts as one of the market up to the largest that is
    plausible.

    Parameters
    ----------
    market : MarketModel
        Fitted without the batch.
    prices : BatchPrices
        The batch.
    others : sequence of BatchPrices
        Other batches of the same months.
    limits : ScreenLimits
        Limits.
    """
    shift = prices.shift()
    peers = [p for p in others if len(p) >= limits.fewest]
    if peers:
        yield from _beside(shift, [p.shift() for p in peers], limits)
        return
    growth = float(np.sqrt(prices.months))
    shared = max(prices.shared, limits.unseen_move / 100 * growth)
    error = float(np.hypot(shift.error, shared))
    seen = 100 * float(np.expm1(record_move(market)))
    moves = [max(m, 1.5 * seen * m / limits.month_moves[1]) * growth for m in limits.month_moves]
    verdict = _verdict(shift.middle, error, (moves[0], moves[1]), limits.surely)
    if verdict is not None:
        yield ScreenDoubt(
            "whole batch off",
            verdict,
            f"Its prices lie {_beside_words(shift.middle)} in the middle, "
            f"{abs(shift.middle) / error:.1f} standard errors: more than a market moves in "
            f"{_months(prices.months)} (the largest move of a month on record is {seen:.1f}%). "
            f"{_cause(shift.middle)}",
            {
                "per cent": 100 * float(np.expm1(shift.middle)),
                "standard errors": abs(shift.middle) / error,
                "plausible per cent": moves[1],
                "sales": shift.n,
            },
        )


def _beside(shift: Shift, others: list[Shift], limits: ScreenLimits) -> Iterator[ScreenDoubt]:
    sizes = np.array([s.n for s in others], dtype=np.float64)
    middle = float(np.median(np.repeat([s.middle for s in others], sizes.astype(int))))
    error = float(np.sqrt(shift.error**2 + 1.0 / np.sum([s.error**-2 for s in others])))
    gap = shift.middle - middle
    verdict = _verdict(gap, error, limits.beside_others, limits.surely)
    if verdict is not None:
        yield ScreenDoubt(
            "whole batch off",
            verdict,
            f"Its prices lie {_beside_words(shift.middle)} in the middle, those of the other "
            f"batches of the same months {100 * np.expm1(middle):+.1f}%: "
            f"{abs(gap) / error:.1f} standard errors apart. {_cause(gap)}",
            {
                "per cent": 100 * float(np.expm1(shift.middle)),
                "others per cent": 100 * float(np.expm1(middle)),
                "standard errors": abs(gap) / error,
                "sales": shift.n,
            },
        )


def _verdict(
    gap: float, error: float, per_cent: tuple[float, float], surely: tuple[float, float]
) -> Verdict | None:
    """Return how grave a shift is: both too large to be plausible and too sure to be chance."""
    off = 100 * float(np.expm1(abs(gap)))
    for verdict, k in (("hold", 1), ("warn", 0)):
        if off > per_cent[k] and abs(gap) > surely[k] * error:
            return "hold" if verdict == "hold" else "warn"
    return None


def part_doubts(prices: BatchPrices, limits: ScreenLimits) -> Iterator[ScreenDoubt]:
    """Doubt a batch of which a part is off by a common factor.

    A part may have a name (a venue, a channel, a basis, a make), or be any part: how much likelier
    the prices are as a mixture of right ones and ones off by one factor than as right ones alone.
    What explains more is told.

    Parameters
    ----------
    prices : BatchPrices
        The batch.
    limits : ScreenLimits
        Limits.
    """
    found = [*_named_parts(prices, limits), *_mixed(prices, limits)]
    if found:
        yield max(found, key=lambda d: d.figures["gain"])


def _named_parts(prices: BatchPrices, limits: ScreenLimits) -> Iterator[ScreenDoubt]:
    for column, lead in _PARTS.items():
        values = prices.frame[column].to_numpy(dtype=object)
        for value in sorted({v for v in values.tolist() if isinstance(v, str)}):
            rows = values == value
            n = int(rows.sum())
            if n < limits.fewest / 2 or len(rows) - n < limits.fewest / 2:
                continue
            own, rest = prices.shift(rows), prices.shift(~rows)
            gap = own.middle - rest.middle
            # The model knows what a venue or a make is worth only so far.
            error = float(np.sqrt(own.error**2 + rest.error**2 + 0.02**2))
            least = (limits.part_moves, limits.part_moves)
            verdict = _verdict(gap, error, least, limits.part_surely)
            if verdict is not None:
                yield ScreenDoubt(
                    "part of batch off",
                    verdict,
                    f"The {n:,} sales {lead} {value} lie {100 * np.expm1(gap):+.0f}% beside the "
                    f"rest of the batch, {abs(gap) / error:.1f} standard errors. {_cause(gap)}",
                    {
                        "per cent": 100 * float(np.expm1(gap)),
                        "standard errors": abs(gap) / error,
                        "sales": n,
                        "gain": _gain(prices, rows, own.middle, rest.middle),
                    },
                    _keys(prices, rows),
                )


def _gain(prices: BatchPrices, rows: NDArray[np.bool_], own: float, rest: float) -> float:
    """Return how much likelier the prices are if a part has a middle of its own."""
    scale = prices.spread / float(stats.t.ppf(0.8413, _DF))
    apart = _log_density(prices.error - np.where(rows, own, rest), scale)
    together = _log_density(prices.error - prices.shift().middle, scale)
    return float((apart - together).sum())


def _mixed(prices: BatchPrices, limits: ScreenLimits) -> Iterator[ScreenDoubt]:
    alone, _, _ = _likeliest(prices, (None,), limits.part_moves)
    best = _likeliest(prices, _STARTS, limits.part_moves)
    gain, (gap, share), wrong = best[0] - alone, best[1], best[2]
    count = share * len(prices)
    if count < _FEWEST_WRONG or gain < limits.mixed[0] or share < limits.mixed_share[0]:
        return
    sure = gain >= limits.mixed[1] and share >= limits.mixed_share[1]
    verdict: Verdict = "hold" if sure else "warn"
    factor = float(np.exp(gap))
    yield ScreenDoubt(
        "part of batch off",
        verdict,
        f"About {count:.0f} of {len(prices):,} prices lie at {factor:.2f} times the others beside "
        f"their estimates: far likelier than right prices alone (log likelihood {gain:.1f} "
        f"higher). {_cause(gap)}",
        {"factor": factor, "share": share, "gain": gain},
        _keys(prices, wrong > 0.5),
    )


def _likeliest(prices: BatchPrices, starts: Sequence[float | None], least: float) -> _Fit:
    """Return the likeliest of several fits.

    A batch may scatter more, or less, than the ranges of the model say: right prices alone may
    explain a wide batch as well as a mixture does, and both are given the choice.
    """
    scale = prices.spread / float(stats.t.ppf(0.8413, _DF))
    fits = (
        _fit_mixture(prices.error, wide * scale, start, least)
        for start in starts
        for wide in _WIDER
    )
    return max(fits, key=lambda found: found[0])


def _fit_mixture(error: Floats, scale: Floats, start: float | None, least: float) -> _Fit:
    """Fit right prices and, with a start, a share of them off by one factor."""
    centre, gap, share = float(np.median(error)), start or 0.0, 0.0 if start is None else 0.15
    wrong = np.zeros(len(error))
    bound = float(np.log1p(least / 100))
    reached = -np.inf
    for _ in range(60):
        right_log = _log_density(error - centre, scale)
        wrong_log = _log_density(error - centre - gap, scale)
        joint = np.logaddexp(np.log1p(-share) + right_log, _log(share) + wrong_log)
        wrong = np.exp(_log(share) + wrong_log - joint)
        before, reached = reached, float(joint.sum())
        if abs(reached - before) < 1e-3:
            break
        w = (_DF + 1.0) / (_DF + ((error - centre - gap * (wrong > 0.5)) / scale) ** 2) / scale**2
        centre = float(w * (1 - wrong) @ error / (w @ (1 - wrong)))
        if start is None:
            continue
        total = float(w @ wrong)
        moved = float(w * wrong @ (error - centre)) / total if total > 1e-12 else start
        gap = float(np.sign(start)) * max(float(np.sign(start)) * moved, bound)
        share = float(np.clip(wrong.mean(), 1e-6, 0.5))
    return reached, (gap, share), wrong


def _log(share: float) -> float:
    return float(np.log(max(share, 1e-300)))


def _log_density(x: Floats, scale: Floats) -> Floats:
    # The density of scipy written out: it is asked for thousands of times a batch.
    return _AT_MIDDLE - (_DF + 1.0) / 2 * np.log1p((x / scale) ** 2 / _DF) - np.log(scale)


def _keys(prices: BatchPrices, rows: NDArray[np.bool_]) -> tuple[str, ...]:
    frame = prices.frame
    if "sale_key" in frame:
        return tuple(str(k) for k in frame["sale_key"].to_numpy()[rows])
    places = zip(frame["file"].to_numpy()[rows], frame["row"].to_numpy()[rows], strict=True)
    return tuple(f"{file}, row {row}" for file, row in places)


def _beside_words(middle: float) -> str:
    if abs(middle) > np.log(3):
        return f"at {np.exp(middle):.3g} times their estimates"
    return f"{abs(100 * np.expm1(middle)):.1f}% {'above' if middle > 0 else 'below'} estimates"


def _months(months: float) -> str:
    return "a month" if months < 1.5 else f"{months:.0f} months"


def _cause(gap: float) -> str:
    """Say what may have happened, by the size of the factor."""
    factor = float(np.exp(abs(gap)))
    if 1.75 < factor < 2.25:
        return "Were amounts counted twice, or halved?"
    if factor < 1.32:
        return "Another currency, a premium or a tax in or out of the amounts?"
    return "Another currency, or another unit?"
