"""What would be otherwise: changes as they are asked."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.errors import QuestionError
from valuation.records import Value

__all__ = ["NOT_STATED", "Change", "read_change"]

NOT_STATED = "not stated"
"""Value of a change that lets the seller be silent."""


@dataclass(frozen=True, slots=True)
class Change:
    """One fact that would be otherwise.

    Parameters
    ----------
    name : str
        Attribute of the contract, or zone of the inspection.
    value : Value
        What it would be; text is read as in a car file.  Text that starts with ``+`` or ``-`` is a
        step: so much more or less of a number or a mark, words to add to a set or to take from it.
        ``not stated``, ``not looked at`` and ``cannot be told`` are values too.

    Examples
    --------
    >>> Change("mileage", "+10000"), Change("documents", ("bills",)).value
    (Change(name='mileage', value='+10000'), ('bills',))
    """

    name: str
    value: Value

    @property
    def text(self) -> str:
        """The value as it is written."""
        if isinstance(self.value, str):
            return self.value.strip()
        if isinstance(self.value, tuple):
            return "; ".join(self.value) or "none"
        return f"{self.value:.10g}"

    @property
    def step(self) -> str:
        """``+`` or ``-`` for a step, empty for a whole value."""
        return self.text[:1] if isinstance(self.value, str) and self.text[:1] in "+-" else ""

    def __str__(self) -> str:
        return f"{self.name}={self.text}"


def read_change(text: str) -> Change:
    """Read a change as it is written on a command line or in a file of questions.

    Parameters
    ----------
    text : str
        ``NAME=VALUE``.

    Raises
    ------
    QuestionError
        If it has no such form.

    Examples
    --------
    >>> read_change("documents = +build record; bills")
    Change(name='documents', value='+build record; bills')
    """
    name, sign, value = text.partition("=")
    if not sign or not name.strip() or not value.strip():
        raise QuestionError(
            "what-if",
            "a change names a fact and its value",
            got=text,
            remedy="Write it as NAME=VALUE, such as mileage=+10000",
        )
    return Change(name.strip(), value.strip())
