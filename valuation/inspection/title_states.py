"""States of a title that stop a purchase until they are cured: none is a mere discount."""

from __future__ import annotations

from valuation.inspection.contents import Title
from valuation.records import Car, Cure
from valuation.results.bid_parts import Stop

__all__ = ["NUMBERS_STOP", "TITLE_STOPS", "stops_of", "title_note", "title_stop"]

TITLE_STOPS = {
    "not in the seller's name": "don't pay before the owner on the title has signed, or has given "
    "the seller written authority",
    "lien": "don't pay before the creditor has confirmed in writing that the lien is released",
    "missing": "don't pay before the authority has issued a new one to the seller",
    "bill of sale only": "don't pay before the authority that will register the car has said in "
    "writing that it issues a title on it",
    "foreign, duty unpaid": "don't pay before customs has named duty and tax, and who owes them",
    "branded": "a brand stays with the car: don't pay before you know what it means where the car "
    "will be registered and sold",
    "number differs": "don't pay and don't move the car before the authority has settled which "
    "car it is: it may be seized",
}
"""For each state of a title but ``clear``, what has to happen first."""

_DIFFERS = "number differs"

NUMBERS_STOP = (
    "Numbers: what the car bears is not what its papers say. This stops the purchase: "
    f"{TITLE_STOPS[_DIFFERS]}."
)
"""Said where a number that names the car differs, whatever the title is said to be."""


def _stop(reason: str, cure: Cure | None) -> Stop:
    known = cure or Cure()
    return Stop(reason, known.days, known.low, known.high, known.currency)


def title_stop(status: str, title: Title) -> str:
    """Return why a title stops the purchase, in a sentence.

    Parameters
    ----------
    status : str
        A level of ``title_status``.
    title : Title
        With days and cost of a cure.

    Returns
    -------
    str
        Empty where nothing stops it.

    Examples
    --------
    >>> title_stop("lien", Title(days=10))[:60]
    "Title: lien. This stops the purchase: don't pay before the c"
    """
    reason = _reason(status)
    return _stop(reason, title.cure).sentence if reason else ""


def _reason(status: str) -> str:
    stop = TITLE_STOPS.get(status)
    return f"Title: {status}. This stops the purchase: {stop}." if stop else ""


def stops_of(car: Car) -> tuple[Stop, ...]:
    """Return what stops the purchase of a car, each with days and cost of its cure.

    Parameters
    ----------
    car : Car
        The car.  The cure is that of its title; where the title stops nothing, that of the first
        of its other stops.

    Returns
    -------
    tuple of Stop
        The title first; empty if nothing is known to stop it, which doesn't mean that the title
        was seen: see :func:`title_note`.

    Examples
    --------
    >>> (stop,) = stops_of(Car({"title_status": "lien"}, cure=Cure(days=14)))
    >>> stop.reason[:12], stop.days
    ('Title: lien.', 14)
    """
    reasons = [_title_reason(car), *car.stops]
    told = [reason for reason in reasons if reason]
    return tuple(_stop(r, None if at else car.cure) for at, r in enumerate(told))


def _title_reason(car: Car) -> str:
    fact = next((f for f in car.open if f.attribute == "title_status"), None)
    if fact is None:
        return _reason(str(car.values.get("title_status", "")))
    # That the numbers differ is told by itself.
    apart = _DIFFERS if NUMBERS_STOP in car.stops else ""
    levels = [level for level in fact.levels if level != apart]
    if len(levels) < 2 or not set(levels) <= TITLE_STOPS.keys():
        return _reason("".join(levels)) if len(levels) == 1 else ""
    # Whichever it turns out to be, it stops the purchase.
    first = "; ".join(f"{level}: {TITLE_STOPS[level]}" for level in levels)
    return f"Title: {' or '.join(levels)}. This stops the purchase: {first}."


def title_note(car: Car) -> str:
    """Return what to do about a title that nobody has seen or that is not settled.

    Parameters
    ----------
    car : Car
        The car.

    Returns
    -------
    str
        A sentence; empty where the state of the title is known.

    Examples
    --------
    >>> title_note(Car({})), title_note(Car({"title_status": "clear"}))
    ('Title not seen: see it before you bid.', '')
    """
    if "title_status" in car.values:
        return ""
    fact = next((f for f in car.open if f.attribute == "title_status"), None)
    if fact is None:
        return "Title not seen: see it before you bid."
    left = f", it may be {' or '.join(fact.levels)}" if fact.levels else ""
    return f"Title not settled{left}: see it before you bid."
