"""States of a title that stop a purchase until they are cured: none is a mere discount."""

from __future__ import annotations

from valuation.inspection.contents import Title

__all__ = ["NUMBERS_STOP", "TITLE_STOPS", "title_stop"]

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

NUMBERS_STOP = (
    "Numbers: what the car bears is not what its papers say. This stops the purchase: "
    f"{TITLE_STOPS['number differs']}."
)
"""Said where a number that names the car differs, whatever the title is said to be."""


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
    if status not in TITLE_STOPS:
        return ""
    known = []
    if title.days is not None:
        known.append(f"{title.days:g} day" + ("" if title.days == 1 else "s"))
    if title.cost is not None:
        known.append(title.cost.shown)
    cure = "; ".join(known) or "ask how long it takes and what it costs"
    return f"Title: {status}. This stops the purchase: {TITLE_STOPS[status]}. Cure: {cure}."
