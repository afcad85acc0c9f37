"""What stands in the text of a lot beside its car: estimate, reserve, chassis, own notes."""

from __future__ import annotations

import re

from valuation.importing.lot_cars import head_and_rest
from valuation.importing.lot_estimates import NO_RESERVE
from valuation.reading.clauses import fold_in_place
from valuation.reading.numbers import NUMBER

__all__ = ["take_snippets"]

_CODE = r"(?:eur|usd|gbp|chf|sek|nok|dkk|pln|czk|huf|jpy|aud|cad|nzd|zar|aed|brl|euros?|zl|kr)"
_SIGN = rf"(?:(?:us|ca|au|nz|hk)?[$€£¥]|\b{_CODE}\b\.?)"
_UNIT = r"(?:\s?(?:k|tsd|thousand|mio|million|m)\b\.?)?"
_AMOUNT = rf"{_SIGN}?\s?(?:{NUMBER})(?:,-|\.-)?{_UNIT}(?:\s?{_SIGN})?"
_TO = r"\s*(?:-|–|—|/|\bto\b|\bbis\b|\bà|\ba\b|\btot\b|\bal\b|\buntil\b)\s*"
_RANGE = rf"{_AMOUNT}(?:{_TO}{_AMOUNT})?\+?(?:\s*\({_AMOUNT}(?:{_TO}{_AMOUNT})?\))?"
_ESTIMATE_WORD = (
    r"\b(?:pre-?sale )?(?:est(?:imate[ds]?|imation|imacion|imativa)?|schatz(?:preis|wert|ung)|"
    r"taxe|stima|schatting|richtprijs|taxatie|wycena|vardering|guide(?: price)?)\b\.?\s*[:=]?\s*"
)
_NAMED = re.compile(
    rf"{_ESTIMATE_WORD}(?:(?:of|from|ab|up to|over)\s)?(?:{_RANGE}|(?:available )?(?:on|upon) "
    r"request|auf anfrage|sur demande|a richiesta|tba|tbd|refer to department)"
)
# Without the word, only a span in a named currency is surely an estimate.
_PRICED = re.compile(
    rf"(?:{_SIGN}\s?(?:{NUMBER}){_UNIT}{_TO}{_AMOUNT}|"
    rf"(?<![\d.,])(?:{NUMBER}){_UNIT}{_TO}(?:{NUMBER}){_UNIT}\s?{_SIGN})"
)
# At the end of a line of columns, two amounts side by side are one.
_GROUPED = r"\d{1,3}(?:[.,' ]\d{3})+|\d{4,7}"
_AT_END = re.compile(
    rf"(?m)(?:^|[\s|])(?P<low>{_GROUPED})(?:\s*(?:-|–|—|/|\|)\s*|\s{{2,}}|\bto\b)"
    rf"(?P<high>{_GROUPED})(?:\s*{_SIGN})?\s*$"
)
_RESERVE = re.compile(
    rf"(?:\breserve(?: price)?|\blimit|\bmindestpreis)\b\.?\s*[:=]?\s*"
    rf"(?P<amount>{_SIGN}\s?(?:{NUMBER}){_UNIT}|(?:{_GROUPED})(?:\s?{_SIGN})?|yes\b|no\b|none\b)"
)
_WITHOUT = re.compile(
    r"(?:(?:to be )?(?:offered|selling|sold)\s+)?(?:(?:at|with)\s+)?" + NO_RESERVE.pattern
)
_CHASSIS = re.compile(
    r"(?:\b(?:chassis|vin|frame|fahrgestell(?:nummer|nr)?|telaio|bastidor|serial|chassisnummer|"
    r"nr nadwozia)\b)\.?\s*(?:(?:no|nr|number|n[o°º])\b\.?|#)?\s*[:.=]?\s*"
    r"(?P<number>[a-z0-9][a-z0-9./*-]*\d[a-z0-9./*-]*)"
)
_OWN_NOTES = re.compile(r"(?m)^(?:my|our|own) notes?\s*:\s*(?P<notes>.*)$")
_FIRST, _LAST = 1885, 2039


def _years(found: re.Match[str]) -> bool:
    """Tell whether two numbers side by side could be years of building."""
    ends = [found["low"], found["high"]]
    return all(e.isdigit() and _FIRST <= int(e) <= _LAST for e in ends)


class _Text:
    """A text of which pieces are taken out."""

    def __init__(self, text: str) -> None:
        self.text = text

    def take(self, pattern: re.Pattern[str], group: str = "", *, out: bool = True) -> str:
        """Return the first match as written, and take it out of the text."""
        found = pattern.search(fold_in_place(self.text))
        if not found:
            return ""
        first, last = found.span(group or 0)
        piece = self.text[first:last]
        if out:
            self.text = self.text[: found.start()] + " " + self.text[found.end() :]
        return " ".join(piece.split()).strip(" |,;")

    def take_end(self) -> str:
        """Return two amounts at the end of a line, unless they are years."""
        for found in _AT_END.finditer(fold_in_place(self.text)):
            if not _years(found):
                first, last = found.start("low"), found.end()
                piece = self.text[first:last].replace("|", "-")
                self.text = self.text[:first] + " " + self.text[last:]
                return re.sub(r"\s{2,}|\s*-\s*", " - ", piece.strip(), count=1)
        return ""


def _tidy(line: str) -> str:
    """Close the gaps that pieces leave which were taken out."""
    line = re.sub(r"\(\s*\)|\[\s*\]", " ", line)
    line = re.sub(r"(?:\s*[,;|]){2,}", lambda m: m.group().strip()[-1], line)
    line = re.sub(r"\s+([,;.])", r"\1", line)
    return " ".join(line.split()).strip(" ,;|–—-")


def take_snippets(text: str) -> dict[str, str]:
    """Take estimate, reserve, chassis and own notes out of the text of a lot.

    Parameters
    ----------
    text : str
        Text of one lot without its number; lines as they stand.

    Returns
    -------
    dict of str to str
        ``title`` (its first line, or its first sentence), ``description`` (the rest),
        ``estimate``, ``reserve``, ``chassis``, ``notes``; empty where nothing stands.

    Examples
    --------
    >>> found = take_snippets("1968 Torvane GT Coupe, 4-speed, est. $40,000-50,000, no reserve")
    >>> found["title"], found["estimate"], found["reserve"]
    ('1968 Torvane GT Coupe, 4-speed', 'est. $40,000-50,000', 'no reserve')
    """
    rest = _Text(text)
    notes = rest.take(_OWN_NOTES, "notes")
    estimate = rest.take(_NAMED) or rest.take(_PRICED) or rest.take_end()
    reserve = rest.take(_WITHOUT) or rest.take(_RESERVE, "amount")
    chassis = rest.take(_CHASSIS, "number")
    tidied = (_tidy(line) for line in rest.text.split("\n"))
    lines = [line for line in tidied if any(map(str.isalnum, line))]
    first, *more = lines or [""]
    columns = first.split(" | ")
    title, description = columns[0].strip(), " | ".join(c for c in columns[1:] if c.strip())
    if not more and not description:
        title, description = head_and_rest(title)
    return {
        "title": title.rstrip("."),
        "description": "\n".join(x for x in (description, *more) if x),
        "estimate": estimate,
        "reserve": reserve,
        "chassis": chassis.strip(".-/"),
        "notes": notes,
    }
