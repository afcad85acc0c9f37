"""The table of attributes: one entry each, from which everything else follows.

Import checks, the blank template, the table in README, the columns of the model, the labels of an
explanation and the synthetic market are all read from here.
"""

from __future__ import annotations

from valuation.schema.as_built import AS_BUILT
from valuation.schema.as_found import AS_FOUND, MODIFICATION_KINDS, modification_levels
from valuation.schema.kinds import Attribute

__all__ = ["ATTRIBUTES", "BY_NAME", "MODIFICATION_KINDS", "modification_levels"]

ATTRIBUTES: tuple[Attribute, ...] = AS_BUILT + AS_FOUND

BY_NAME: dict[str, Attribute] = {a.name: a for a in ATTRIBUTES}
