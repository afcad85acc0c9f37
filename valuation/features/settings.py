"""How rich the columns of a market model may be."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FeatureSettings"]


@dataclass(frozen=True)
class FeatureSettings:
    """How rich the columns may be.

    Parameters
    ----------
    knots, line_knots : int
        Largest number of bends of a curve, in common and of a model line.
    min_level, min_pair, min_word : int
        Fewest sales for a column of a level, of a pair of model line and level, of a word.
    max_words : int
        Largest number of words with a column in common.
    level_days, segment_days : float
        Steps of the common market level and of its deviations by make.
    segment_sales : int
        Fewest sales of a make for a market level of its own.
    line_days : float
        Steps of the market level's deviations by model line; 0 for none.
    least_effect : float
        Smallest standard deviation that the effects of words and sale factors are given, log units:
        a word that seems to change nothing may yet change this much.
    selection_sd : float
        How far the sales of an ordinary step of the market level may err together, log units.
    local_tail : float
        Share of the sales at each end of a number beyond which slopes of single model lines, makes
        and variants go flat; the common effect goes on to the last sale.
    words, statements, local, age : bool
        Whether title words, statements of the advert, model-line effects and age at sale take part.
    """

    knots: int = 12
    line_knots: int = 4
    min_level: int = 2
    min_pair: int = 2
    min_word: int = 2
    max_words: int = 500
    level_days: float = 14.0
    segment_days: float = 91.0
    segment_sales: int = 100
    line_days: float = 365.0
    least_effect: float = 0.02
    selection_sd: float = 0.02
    local_tail: float = 0.02
    words: bool = True
    statements: bool = True
    local: bool = True
    age: bool = True
