"""Cost settings for a screen and as data: what a file says, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any

from valuation.bidding.costs import (
    CostLine,
    Costs,
    Fee,
    Holding,
    LandingLine,
    Selling,
    Target,
    WayOfBuying,
    Winning,
)
from valuation.premium import PremiumSlice
from valuation.records import Cure

__all__ = ["costs_dict", "costs_summary"]

FORMAT = 1
"""Version of the form of :func:`costs_dict`."""

_NOT_IN_COSTS = ("venue", "first", "last")


def costs_dict(costs: Costs) -> dict[str, Any]:
    """Return cost settings as plain data for JSON.

    Parameters
    ----------
    costs : Costs
        The settings.

    Returns
    -------
    dict
        The fields of :class:`~valuation.bidding.costs.Costs` after the version of the form; exact
        decimals are text such as ``"0.10"``.
    """
    return {"format": FORMAT, **_plain(costs)}


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if not is_dataclass(value):
        return value
    # A tier may name venue and days elsewhere; here it stands under its venue.
    left_out = _NOT_IN_COSTS if isinstance(value, PremiumSlice) else ()
    names = [f.name for f in fields(value) if f.name not in left_out]
    return {name: _plain(getattr(value, name)) for name in names}


def costs_summary(costs: Costs) -> str:
    """Return what cost settings say, in plain words.

    Parameters
    ----------
    costs : Costs
        The settings.
    """
    parts = [
        ("A purchase has to promise", _target(costs.target, costs.currency)),
        *((_heading(way), _way(way, costs.currency)) for way in costs.ways.values()),
        ("Work on every car", (_line(n, "") for n in costs.work)),
        ("Holding", _holding(costs.holding)),
        ("Selling", _selling(costs.selling)),
        ("Winning", _winning(costs.winning)),
        ("Curing a title", (_cure(*item) for item in costs.cures.items())),
    ]
    out = [f"Cost settings of {costs.where}, in {costs.currency} where nothing else is said."]
    for heading, said in parts:
        lines = list(said)
        if lines:
            out += ["", heading, *(f"  {line}" for line in lines)]
    return "\n".join(out)


def _amount(value: Decimal) -> str:
    return f"{value:,.2f}".removesuffix(".00")


def _span(low: Decimal, high: Decimal) -> str:
    return _amount(low) if low == high else f"{_amount(low)} to {_amount(high)}"


def _percent(value: Decimal) -> str:
    text = f"{value:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) + "%"


def _target(target: Target, currency: str) -> Iterator[str]:
    yield f"expected margin: at least {_amount(target.margin)} {currency}" + (
        f", and at least {_percent(target.share * 100)} of the resale" if target.share else ""
    )
    if target.loss_probability < 1:
        risk = f"at most {_percent(target.loss_probability * 100)}"
    else:
        risk = "no limit is stated"
    yield f"probability of losing money: {risk}"
    if target.outlay is not None:
        yield f"money in one car: at most {_amount(target.outlay)} {currency}"


def _heading(way: WayOfBuying) -> str:
    return f"Buying, {way.name}, in {way.currency}"


def _way(way: WayOfBuying, home: str) -> Iterator[str]:
    if way.rate_low is not None and way.rate_high is not None:
        rate = f"{way.rate_low:f}" + (
            f" to {way.rate_high:f}" if way.rate_high != way.rate_low else ""
        )
        yield f"one {way.currency} until payment: {rate} {home}"
    steps = [(n.up_to, _amount(n.step)) for n in way.increments]
    yield f"steps of bids: {_tiers(steps) if steps else 'any amount'}"
    yield f"buyer's premium: {_premium(way)}"
    if way.surcharge != Fee():
        yield f"surcharge: {_fee(way.surcharge, 'hammer price')}"
    if way.tax.on != "none":
        back = ", reclaimed" if way.tax.reclaimed else ""
        yield f"tax: {_percent(way.tax.percent)} of {way.tax.on}{back}"
    yield from (_line(n, way.currency) for n in way.lines)
    yield from (_landing(n, way.currency) for n in way.landing)


def _tiers(parts: list[tuple[Decimal | None, str]]) -> str:
    if len(parts) == 1:
        return parts[0][1]
    return ", ".join(
        f"{said} beyond" if end is None else f"{said} up to {_amount(end)}" for end, said in parts
    )


def _premium(way: WayOfBuying) -> str:
    if not way.premium:
        return "none"
    first = way.premium[0]
    said = _tiers([(t.up_to, _percent(t.percent)) for t in way.premium])
    said += f", {first.applied}" if len(way.premium) > 1 else ""
    return said + _limits(first.minimum, first.cap)


def _limits(minimum: Decimal | None, cap: Decimal | None) -> str:
    least = "" if minimum is None else f", at least {_amount(minimum)}"
    return least + ("" if cap is None else f", at most {_amount(cap)}")


def _fee(fee: Fee, of: str) -> str:
    parts = [f"{_percent(fee.percent)} of the {of}"] if fee.percent else []
    parts += [_amount(fee.amount)] if fee.amount else []
    return (" plus ".join(parts) or "0") + _limits(fee.minimum, fee.cap)


def _line(line: CostLine, usual: str) -> str:
    other = f" {line.currency}" if line.currency not in ("", usual) else ""
    return f"{line.what}: {_span(line.low, line.high)}{other}"


def _landing(line: LandingLine, usual: str) -> str:
    if line.percent:
        return f"{line.what}: {_percent(line.percent)} of {line.on}"
    return _line(CostLine(line.what, line.low, line.high, line.currency), usual)


def _holding(holding: Holding) -> Iterator[str]:
    if holding == Holding():
        return
    low, high = holding.days_low, holding.days_high
    days = f"{low}" if low == high else f"{low} to {high}"
    yield f"from payment to the money of the resale: {days} days"
    for what, percent in (("stock finance", holding.finance), ("insurance", holding.insurance)):
        if percent:
            yield f"{what}: {_percent(percent)} of the outlay a year"
    if holding.storage:
        yield f"storage: {_amount(holding.storage)} a month"


def _selling(selling: Selling) -> Iterator[str]:
    sold = [n for n in (selling.channel, selling.venue, selling.basis) if n]
    if sold:
        yield f"valued for: {', '.join(sold)}"
    if selling.below_asking:
        yield f"paid below the asking price: {_percent(selling.below_asking)}"
    for what, fee in (
        ("commission", selling.commission),
        ("card fee", selling.card_fee),
        ("warranty reserve", selling.warranty),
    ):
        if fee != Fee():
            yield f"{what}: {_fee(fee, 'resale')}"
    if selling.tax.on != "none":
        yield f"tax within the resale: {_percent(selling.tax.percent)} on the {selling.tax.on}"


def _winning(winning: Winning) -> Iterator[str]:
    if winning.percent is not None:
        yield f"correction: {_percent(winning.percent)}"
    elif winning.rivals:
        yield f"rivals of equal skill: {winning.rivals}"
        yield f"own misjudgement: {_percent(winning.own_share * 100)} of the spread of the range"
    if winning.record:
        yield f"won purchases on record: {len(winning.record)}"


def _cure(status: str, cure: Cure) -> str:
    cost = "" if cure.low is None or cure.high is None else f", {_span(cure.low, cure.high)}"
    return f"{status}: {cure.days:g} days{cost}"
