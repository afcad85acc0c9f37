"""From where on a whole batch is doubted, and from where on it is held."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ScreenLimits"]


@dataclass(frozen=True, slots=True)
class ScreenLimits:
    """Limits of the screens of a batch; a pair is where it warns and where it holds.

    Parameters
    ----------
    fewest : int
        Fewest sales whose prices are set beside estimates: below, chance decides.
    surely : (float, float)
        How many standard errors a shift has to be, so that chance does not explain it.
    unseen_move : float
        Standard deviation, per cent, of what a market moves in a month that a model of few sales
        a month has not noticed.
    month_moves : (float, float)
        Largest move of a market in a month, per cent, that is plausible.  For the months between
        the last sale known and the batch it grows with their root.  A market that has moved more
        than two thirds of the second limit within a month before sets its own.
    beside_others : (float, float)
        How far, in per cent, a batch may lie from other batches of the same months: they share
        the market, so a difference is no move of it.
    part_moves : float
        Least common factor, in per cent, of a part of a batch that is looked for: premiums and
        taxes are above.
    part_surely : (float, float)
        How many standard errors a venue, channel or basis within the batch has to be off beside
        the rest of it.
    mixed : (float, float)
        How many times likelier (natural logarithm) the batch has to be as a mixture of right and
        wrong prices than as right ones alone.  Right months of an invented market reach 2.
    mixed_share : (float, float)
        Least share of wrong prices in such a mixture.  A list of real sales has a tail of its own,
        such as cars sold as wrecks, which a long list shows beyond doubt: that is no fault of the
        whole, and its sales are listed to be looked at.
    near_one : (float, float)
        By how many points of a hundred more prices may lie within two per cent of their estimate
        than the ranges of the model have there.
    near_chance : (float, float)
        Probability of so many or more, below which that is no chance.
    known : (float, float)
        Share of sales that earlier batches hold already.
    set_aside : (float, float)
        Share of rows that could not be used.
    unseen : (float, float)
        Share of sales of model lines that were never seen.
    astray : (float, float)
        Share of sales dated outside the months that the batch is said to be of.
    future : (float, float)
        Share of sales dated after today; one is worth a warning.
    """

    fewest: int = 12
    surely: tuple[float, float] = (2.5, 3.2)
    unseen_move: float = 1.5
    month_moves: tuple[float, float] = (5.0, 8.0)
    beside_others: tuple[float, float] = (5.0, 8.0)
    part_moves: float = 8.0
    part_surely: tuple[float, float] = (4.0, 5.5)
    mixed: tuple[float, float] = (3.5, 5.5)
    mixed_share: tuple[float, float] = (0.0, 0.05)
    near_one: tuple[float, float] = (8.0, 15.0)
    near_chance: tuple[float, float] = (1e-3, 1e-5)
    known: tuple[float, float] = (0.1, 0.5)
    set_aside: tuple[float, float] = (0.2, 0.5)
    unseen: tuple[float, float] = (0.25, 0.6)
    astray: tuple[float, float] = (0.1, 0.5)
    future: tuple[float, float] = (0.0, 0.02)
