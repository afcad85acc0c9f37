"""What was said of a car before it was sold: an estimate, a bid, and what a person thought.

Only what the comparison with the sale needs is kept, so that a record stays small.  Amounts are
exact decimals, written as text.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from valuation.results.bid_sheet import plain_value

__all__ = ["KINDS", "BidSaid", "Override", "Said", "SaidCar"]

FORMAT = 1
"""Version of the machine-readable form."""

KINDS = ("price", "bid", "lot")
"""By what it was said: a valuation, a bid sheet, or a line of a run list."""


@dataclass(frozen=True, slots=True)
class SaidCar:
    """The car that something was said of.

    Parameters
    ----------
    name : str
        For people.
    chassis, make, model : str
        As stated, empty if not.
    year : int or None
        Model year.
    venue, lot : str
        Where it is offered and as which lot, empty if not stated.
    stock : str
        The firm's own number of it, empty if it has none.
    """

    name: str
    chassis: str = ""
    make: str = ""
    model: str = ""
    year: int | None = None
    venue: str = ""
    lot: str = ""
    stock: str = ""


@dataclass(frozen=True, slots=True)
class BidSaid:
    """What was said of a bid.

    Parameters
    ----------
    answer : str
        One of :data:`valuation.results.bid_sheet.ANSWERS`.
    walk_away : Decimal or None
        The walk-away bid.
    currency : str
        Its currency.
    at : Decimal or None
        The bid for which the next two stand.
    expected_margin : Decimal or None
        In the currency of the resale.
    loss_probability : float or None
        From 0 to 1.
    mean : Decimal or None
        Mean resale, after the correction for winning.
    before_winning : Decimal or None
        Central estimate of the resale before the correction for winning.
    account : tuple of (str, str, Decimal)
        Part, name and expected amount of every line of the account, the resale first.
    """

    answer: str
    walk_away: Decimal | None = None
    currency: str = ""
    at: Decimal | None = None
    expected_margin: Decimal | None = None
    loss_probability: float | None = None
    mean: Decimal | None = None
    before_winning: Decimal | None = None
    account: tuple[tuple[str, str, Decimal], ...] = ()


@dataclass(frozen=True)
class Said:
    """One thing that was said of one car.

    Parameters
    ----------
    kind : str
        One of :data:`KINDS`.
    said_at : datetime.datetime
        When, with the time zone of the place: sales are dated there too.
    by : str
        Who asked.
    version : str
        Version of the model, or the hash of its file.
    car : SaidCar
        The car.
    for_day : datetime.date or None
        Day for which the amounts stand: of a bid the expected day of the resale.
    channel, basis, estimand : str
        What the amounts are; empty or ``unknown`` if nothing tells.
    currency : str
        Of the amounts.
    central : Decimal or None
        Central estimate; of a bid that of the resale after the correction for winning.
    level : float or None
        Nominal coverage of the range; None without a range.
    lower, upper : Decimal or None
        The range.
    bid : BidSaid or None
        What was said of the bid; None for a valuation.
    own_figure : Decimal or None
        The person's own figure, given before the model's was shown.
    """

    kind: str
    said_at: datetime
    by: str
    version: str
    car: SaidCar
    for_day: date | None
    channel: str
    basis: str
    estimand: str
    currency: str
    central: Decimal | None
    level: float | None = None
    lower: Decimal | None = None
    upper: Decimal | None = None
    bid: BidSaid | None = None
    own_figure: Decimal | None = None

    @property
    def said_on(self) -> date:
        """Day on which it was said, where it was said."""
        return self.said_at.date()

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``); amounts are exact decimal texts."""
        out = {"format": FORMAT, **_plain(asdict(self))}
        out["said_at"] = _moment(self.said_at)
        return out

    @classmethod
    def from_dict(cls, content: Mapping[str, Any]) -> Said:
        """Return what :meth:`to_dict` wrote.

        Raises
        ------
        ValueError
            If it is something else; the text says what.
        """
        _check_form(content, cls, "what was said")
        kind = _text(content, "kind")
        if kind not in KINDS:
            raise ValueError(f"no such kind: {kind}")
        read: dict[str, Any] = {n: _text(content, n) for n in _TEXTS}
        read |= {n: _amount(content.get(n), n) for n in ("central", "lower", "upper", "own_figure")}
        said = cls(
            **read,
            kind=kind,
            said_at=_read_moment(content.get("said_at")),
            car=_read_car(content.get("car")),
            for_day=_day(content.get("for_day")),
            level=_share(content.get("level"), "level"),
            bid=None if content.get("bid") is None else _read_bid(content["bid"]),
        )
        if (said.lower is None) != (said.upper is None) or (said.lower is None) != (
            said.level is None
        ):
            raise ValueError("a range needs level, lower and upper")
        return said


_TEXTS = ("by", "version", "channel", "basis", "estimand", "currency")


@dataclass(frozen=True)
class Override:
    """A figure that a person set in place of what was said, and why.

    Parameters
    ----------
    of : str
        Identity of what was said.
    figure : Decimal
        The figure: what the person expects the car to bring.
    reason : str
        Why.
    by : str
        Who.
    at : datetime.datetime
        When, with its time zone.
    """

    of: str
    figure: Decimal
    reason: str
    by: str
    at: datetime

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        out = {"format": FORMAT, "kind": "override", **_plain(asdict(self))}
        out["at"] = _moment(self.at)
        return out

    @classmethod
    def from_dict(cls, content: Mapping[str, Any]) -> Override:
        """Return what :meth:`to_dict` wrote.

        Raises
        ------
        ValueError
            If it is something else; the text says what.
        """
        _check_form(content, cls, "an override")
        figure = _amount(content.get("figure"), "figure")
        if figure is None:
            raise ValueError("an override needs a figure")
        texts = {n: _text(content, n) for n in ("of", "reason", "by")}
        return cls(**texts, figure=figure, at=_read_moment(content.get("at")))


def _plain(content: dict[str, Any]) -> dict[str, Any]:
    return {key: _plain_value(value) for key, value in content.items()}


def _plain_value(value: Any) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, dict):
        return _plain(value)
    if isinstance(value, list | tuple):
        return [_plain_value(v) for v in value]
    return plain_value(value)


def _moment(moment: datetime) -> str:
    if moment.tzinfo is None:
        raise ValueError(f"a moment needs its time zone (got: {moment})")
    return moment.isoformat(timespec="seconds")


def _check_form(content: Mapping[str, Any], kind: type, what: str) -> None:
    if content.get("format") != FORMAT:
        raise ValueError(f"format {content.get('format')}, known is {FORMAT}")
    extra = {"format", "kind"}
    missing = [f.name for f in fields(kind) if f.name not in content and f.name not in extra]
    if missing:
        raise ValueError(f"{what} lacks {', '.join(missing)}")


def _text(content: Mapping[str, Any], name: str) -> str:
    value = content.get(name)
    if not isinstance(value, str):
        raise ValueError(f"{name} is no text")
    return value


def _read_moment(value: Any) -> datetime:
    moment = datetime.fromisoformat(str(value))
    if moment.tzinfo is None:
        raise ValueError(f"a moment without its time zone: {value}")
    return moment


def _day(value: Any) -> date | None:
    return None if value is None else date.fromisoformat(str(value))


def _amount(value: Any, name: str, *, signed: bool = False) -> Decimal | None:
    if value is None:
        return None
    try:
        amount = Decimal(str(value))
    except InvalidOperation:
        raise ValueError(f"{name} is no amount: {value}") from None
    if not amount.is_finite() or (amount <= 0 and not signed):
        raise ValueError(f"{name} is no amount above zero: {value}")
    return amount


def _share(value: Any, name: str) -> float | None:
    if value is None:
        return None
    share = float(value)
    if not 0 <= share <= 1:
        raise ValueError(f"{name} is no share from 0 to 1: {value}")
    return share


def _read_car(value: Any) -> SaidCar:
    if not isinstance(value, dict):
        raise ValueError("no car is named")
    year = value.get("year")
    texts = {f.name: _text(value, f.name) for f in fields(SaidCar) if f.name != "year"}
    return SaidCar(**texts, year=None if year is None else int(year))


def _read_bid(value: Any) -> BidSaid:
    if not isinstance(value, dict):
        raise ValueError("what was said of the bid can't be read")
    lines = []
    for part, what, amount in value.get("account", ()):
        read = _amount(amount, what, signed=True)
        lines.append((str(part), str(what), Decimal(0) if read is None else read))
    return BidSaid(
        _text(value, "answer"),
        _amount(value.get("walk_away"), "walk_away"),
        _text(value, "currency"),
        _amount(value.get("at"), "at"),
        _amount(value.get("expected_margin"), "expected_margin", signed=True),
        _share(value.get("loss_probability"), "loss_probability"),
        _amount(value.get("mean"), "mean", signed=True),
        _amount(value.get("before_winning"), "before_winning"),
        tuple(lines),
    )
