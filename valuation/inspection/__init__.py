"""What was seen on a car: from a filled sheet to condition grade, originality score and a car."""

from valuation.inspection.after_work import after_work
from valuation.inspection.date_text import read_date
from valuation.inspection.dates import compare
from valuation.inspection.evidence import CarFacts, ComponentFinding, Evidence
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.grade import ConditionGrade, condition_grade
from valuation.inspection.inspection import Inspection, read_sheet
from valuation.inspection.marks import Mark, MarkSpan
from valuation.inspection.numbers import compare_numbers
from valuation.inspection.originality import OriginalityScore, originality_score
from valuation.inspection.settings_file import (
    default_inspection_settings,
    read_inspection_settings,
)
from valuation.inspection.sheet_workbook import sheet_bytes

__all__ = [
    "CarFacts",
    "ComponentFinding",
    "ConditionGrade",
    "Evidence",
    "Inspection",
    "Mark",
    "MarkSpan",
    "OriginalityScore",
    "after_work",
    "compare",
    "compare_numbers",
    "condition_grade",
    "default_inspection_settings",
    "inspection_form",
    "originality_score",
    "read_date",
    "read_inspection_settings",
    "read_sheet",
    "sheet_bytes",
]
