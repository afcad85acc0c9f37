"""From what is said and shown on paper to attributes of the contract."""

from __future__ import annotations

from collections.abc import Collection

from valuation.inspection.contents import Contents
from valuation.inspection.form_parts import CLAIMED, NONE, OPEN_WORDS, SEEN
from valuation.inspection.originality import OriginalityScore
from valuation.inspection.settled import Settled
from valuation.records import OpenFact
from valuation.schema import BY_NAME
from valuation.schema.kinds import CANNOT_BE_TOLD

__all__ = ["settle_said"]

_ASKED = ("restoration", "re_engineered", "mileage", "mileage_status", "title_status")
_VERSION_PAPERS = ("build record", "first bill of sale")
_RESTORATION_PAPERS = ("restoration photographs", "bills")


def settle_said(contents: Contents, score: OriginalityScore, out: Settled) -> None:
    """Settle what rests on words and papers.

    Parameters
    ----------
    contents : Contents
        What the sheet says.
    score : OriginalityScore
        With the numbers that name the car.
    out : Settled
        Where attributes are put.
    """
    out.values.update(contents.stated)
    for name, answer in contents.answers.items():
        if answer == CANNOT_BE_TOLD:
            out.put_untellable(name)
        else:
            out.put(name, None)
    for name in _ASKED:
        if name not in out.values and name not in out.cannot_be_told:
            out.put(name, None)
    _version(contents, out)
    _restoration(contents, out)
    _mileage(contents, out)
    _title(contents, score, out)
    _history(contents, out)
    _documents(contents, out)
    _modifications(contents, out)


def _seen(contents: Contents, papers: Collection[str]) -> bool:
    return any(contents.papers[name].answer == SEEN for name in papers)


def _version(contents: Contents, out: Settled) -> None:
    """Take a rare version for documented only once the papers were seen."""
    documented, undocumented, tribute = BY_NAME["genuineness"].levels[:3]
    claim = contents.stated.get("genuineness")
    if claim == documented and not _seen(contents, _VERSION_PAPERS):
        out.put(
            "genuineness",
            OpenFact(
                "genuineness",
                (documented, undocumented, tribute),
                claim=documented,
                where="build record or first bill of sale",
                how="Hold the papers in your hands; compare them with chassis number and plate.",
                tool="eye, camera",
                minutes=10.0,
            ),
        )
    elif claim is None and "genuineness" not in out.cannot_be_told:
        # Where no version is claimed there is nothing that could be false.
        if contents.stated.get("variant") and not contents.changes.no_rare_version:
            out.put("genuineness", None)
        else:
            out.not_looked_at.discard("genuineness")


def _restoration(contents: Contents, out: Settled) -> None:
    plain, documented = BY_NAME["restoration"].levels[-2:]
    if contents.stated.get("restoration") == documented and not _seen(
        contents, _RESTORATION_PAPERS
    ):
        fact = OpenFact(
            "restoration",
            (plain, documented),
            claim=documented,
            where="restoration photographs and bills",
            how="Look for this car in the photographs; add up the bills; note dates and names.",
            tool="eye, camera",
            minutes=10.0,
        )
        out.put("restoration", fact)


def _mileage(contents: Contents, out: Settled) -> None:
    proven, stated = BY_NAME["mileage_status"].levels[:2]
    if contents.stated.get("mileage_status") == proven and not contents.changes.mileage_proof:
        fact = OpenFact(
            "mileage_status",
            (proven, stated),
            claim=proven,
            where="service book, test certificates, bills",
            how="Write down reading and day of each paper; they have to rise with the years.",
            tool="eye, camera",
            minutes=10.0,
        )
        out.put("mileage_status", fact)


def _title(contents: Contents, score: OriginalityScore, out: Settled) -> None:
    """Leave a title open while the numbers on the car are not those on the papers."""
    levels = BY_NAME["title_status"].levels
    clear, differs = levels[0], levels[-1]
    told = contents.stated.get("title_status")
    if not score.names_another_car or told == differs or not isinstance(told, str):
        return
    fact = OpenFact(
        "title_status",
        (told, differs),
        claim=told if told == clear else "",
        contradiction=" ".join(("The papers may be another car's.", *score.identity)),
        where="chassis stamping, data plate, hidden stampings, title",
        how="Compare them figure by figure; ask the authority which car the title is of.",
        tool="torch, camera",
        minutes=15.0,
    )
    out.put("title_status", fact)


def _history(contents: Contents, out: Settled) -> None:
    told = {name: a for name, a in contents.history.items() if a not in OPEN_WORDS}
    happened = tuple(sorted(name for name, a in told.items() if a == "yes"))
    answered = len(told) == len(contents.history)
    out.put("history", happened if happened or answered else None)


def _documents(contents: Contents, out: Settled) -> None:
    answers = {name: p.answer for name, p in contents.papers.items()}
    seen = {n for n, a in answers.items() if a == SEEN}
    claimed = {n for n, a in answers.items() if a == CLAIMED}
    unknown = {n for n, a in answers.items() if a in OPEN_WORDS}
    if unknown == answers.keys():
        out.put("documents", None)
    elif not claimed | unknown:
        out.put("documents", tuple(sorted(seen)))
    else:
        out.put("documents", _open_documents(seen, claimed, unknown))


def _open_documents(seen: set[str], claimed: set[str], unknown: set[str]) -> OpenFact:
    """Return what may still be there: nothing more, one paper more, or all of them."""
    left = sorted(claimed | unknown)
    sets = [seen, *(seen | {name} for name in left), seen | set(left)]
    return OpenFact(
        "documents",
        tuple(dict.fromkeys(_words(s) for s in sets)),
        claim=_words(seen | claimed) if claimed else "",
        where=", ".join(left),
        tool="eye, camera",
        how="Hold each in your hands, photograph it, and compare the chassis number on it.",
        minutes=3.0 * len(left),
    )


def _words(papers: Collection[str]) -> str:
    return "; ".join(sorted(papers)) or NONE


def _modifications(contents: Contents, out: Settled) -> None:
    name = "modifications"
    if out.values.get("re_engineered") == "yes":
        out.not_looked_at.discard(name)
        out.notes.append(
            "A re-engineered car is a market of its own, set by its builder: its modifications "
            "are kept here and not priced one by one."
        )
        return
    levels = tuple(sorted({m.level for m in contents.modifications if m.level}))
    whole = contents.changes.looked == "yes"
    out.put(name, levels if levels or (whole and not contents.modifications) else None)
    if levels and not whole:
        out.notes.append("The list of modifications may not be whole.")
