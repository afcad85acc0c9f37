"""The contract: what a sale and a car are made of, declared once."""

from valuation.schema.attributes import ATTRIBUTES, BY_NAME, MODIFICATION_KINDS
from valuation.schema.kinds import Attribute, Field, Kind, Silence
from valuation.schema.sale import BY_FIELD, SALE_FIELDS

__all__ = [
    "ATTRIBUTES",
    "BY_FIELD",
    "BY_NAME",
    "MODIFICATION_KINDS",
    "SALE_FIELDS",
    "Attribute",
    "Field",
    "Kind",
    "Silence",
]
