"""Pure measures of accuracy, coverage and bias; numbers in, numbers out."""

from valuation.scoring.accuracy import AccuracySummary, accuracy_summary, by_group
from valuation.scoring.checks import ScoreInputError, ScoreUndefinedError
from valuation.scoring.intervals import CoverageInterval, coverage_interval, interval_score
from valuation.scoring.ratio_study import BANDS, Band, RatioStudy, ratio_study

__all__ = [
    "BANDS",
    "AccuracySummary",
    "Band",
    "CoverageInterval",
    "RatioStudy",
    "ScoreInputError",
    "ScoreUndefinedError",
    "accuracy_summary",
    "by_group",
    "coverage_interval",
    "interval_score",
    "ratio_study",
]
