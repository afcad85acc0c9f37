"""What was seen on a car, to condition grade and originality score."""

from valuation.inspection.cautions import SAFETY
from valuation.inspection.date_text import read_date
from valuation.inspection.dates import DateVerdict, compare
from valuation.inspection.evidence import CarFacts, ComponentFinding, Evidence, read_evidence
from valuation.inspection.grade import ConditionGrade, condition_grade
from valuation.inspection.marks import Mark, MarkSpan, read_marks, spread_groups
from valuation.inspection.numbers import NumberMatch, compare_numbers
from valuation.inspection.originality import OriginalityScore, originality_score
from valuation.inspection.settings_file import (
    default_inspection_settings,
    read_inspection_settings,
)

__all__ = [
    "SAFETY",
    "CarFacts",
    "ComponentFinding",
    "ConditionGrade",
    "DateVerdict",
    "Evidence",
    "Mark",
    "MarkSpan",
    "NumberMatch",
    "OriginalityScore",
    "compare",
    "compare_numbers",
    "condition_grade",
    "default_inspection_settings",
    "originality_score",
    "read_date",
    "read_evidence",
    "read_inspection_settings",
    "read_marks",
    "spread_groups",
]
