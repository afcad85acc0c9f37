"""What can be asked of the synthetic market, and how its assumptions can be broken."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.errors import SettingsError
from valuation.schema import BY_NAME

__all__ = ["MarketSettings"]


@dataclass(frozen=True, slots=True)
class MarketSettings:
    """Size, dates and assumptions of a synthetic market.

    Parameters
    ----------
    sales : int
        Number of records, unsold lots and offers included.
    start, end : datetime.date
        First and last day of sale.
    lines : int, optional
        Number of model lines; by default it grows with the number of sales (33 for 6,000, about
        200 for 100,000).
    currency : str
        ISO 4217 code.
    noise_sd : float
        Standard deviation of a log price around its expectation, for a car of average description.
    noise_df : float
        Degrees of freedom of the Student noise, above 2.
    car_share : float
        Share of the noise variance that belongs to the car and comes back at its next sale.
    level_sd : float
        Standard deviation of the monthly steps of a segment's market level.
    line_spread : float
        How strongly model lines depart from the common effects; 0 makes all lines alike.
    silence_strength : float
        How strongly a statement depends on what there is to state; 0 makes silence uninformative.
    openness : float
        Added to the logit of every statement; 30 makes every seller state everything.
    reoffer_share : float
        Share of unsold lots that come back within weeks.
    repeat_share : float
        Share of records that are a later sale of a car sold before.
    unsold_shading : float
        Mean shortfall of the log highest bid where the bidders see that the reserve is far.
    drift_attribute : str
        Attribute whose effect changes over time, empty for none.
    drift_rate : float
        Relative change of that effect a year.
    regime_shift : datetime.date, optional
        Day on which every market level jumps.
    regime_size : float
        Size of that jump of the log price.
    plain : bool
        Whether the penalty of a tribute is the same for every version (an additive truth, as a
        regression assumes) rather than most of that version's own premium.

    Raises
    ------
    SettingsError
        If a value is out of range.
    """

    sales: int = 6000
    start: date = date(2019, 1, 1)
    end: date = date(2024, 12, 31)
    lines: int | None = None
    currency: str = "EUR"
    noise_sd: float = 0.16
    noise_df: float = 5.0
    car_share: float = 0.35
    level_sd: float = 0.012
    line_spread: float = 1.0
    silence_strength: float = 1.0
    openness: float = 0.0
    reoffer_share: float = 0.3
    repeat_share: float = 0.12
    unsold_shading: float = 0.05
    drift_attribute: str = ""
    drift_rate: float = 0.0
    regime_shift: date | None = None
    regime_size: float = -0.2
    plain: bool = False

    def __post_init__(self) -> None:
        _need(50 <= self.sales <= 5_000_000, "sales", self.sales, "50 to 5,000,000")
        _need((self.end - self.start).days >= 90, "end", self.end, "at least 90 days of sales")
        _need(self.start.year >= 2010, "start", self.start, "a first year from 2010 on")
        _need(self.lines is None or self.lines >= 1, "lines", self.lines, "at least one line")
        _need(self.noise_sd >= 0, "noise_sd", self.noise_sd, "a number from 0 up")
        _need(self.noise_df > 2, "noise_df", self.noise_df, "more than 2 degrees of freedom")
        for name in ("car_share", "reoffer_share", "repeat_share"):
            share = getattr(self, name)
            _need(0 <= share <= 1, name, share, "a share from 0 to 1")
        for name in ("level_sd", "line_spread", "silence_strength", "unsold_shading"):
            value = getattr(self, name)
            _need(value >= 0, name, value, "a number from 0 up")
        known = not self.drift_attribute or self.drift_attribute in BY_NAME
        _need(known, "drift_attribute", self.drift_attribute, "the name of an attribute")

    @property
    def number_of_lines(self) -> int:
        """Number of model lines of this market."""
        if self.lines is not None:
            return self.lines
        return int(min(max(round(33 * (self.sales / 6000) ** 0.64), 8), 900))


def _need(holds: bool, name: str, got: object, wanted: str) -> None:
    if not holds:
        raise SettingsError(
            f"synthetic market, {name}", "value out of range", got=str(got), remedy=f"Use {wanted}"
        )
