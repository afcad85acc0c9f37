"""The sales to look at as a form: a reason and a button for each, and the way back."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

import ipywidgets

from valuation.errors import ValuationError
from valuation.forms.widgets import WIDTH_OF_WORDS, hint
from valuation.report.words import day
from valuation.results.look import LookList, SaleToLookAt

__all__ = ["LookForm", "SaleRow", "look_form"]

Decide = Callable[[str, str], object]
"""Called with the key of a sale and the reason."""

HINT = (
    "A sale that is set aside counts in no later fit until it is restored; both are kept on record "
    "with the reason. The model on this page does not change before it is learned anew."
)

_PLAIN = "Set aside"
_BACK = "Undo"


class SaleRow:
    """One sale of the form.

    Parameters
    ----------
    sale : SaleToLookAt
        With a key.
    words : str
        Markup that says what is odd about it.
    set_aside, restore : callable
        Called with the key of the sale and the reason.
    told : callable
        Called without arguments after each change.

    Attributes
    ----------
    reason : ipywidgets.Text
        Why it is set aside.
    button : ipywidgets.Button
        Sets it aside, and takes that back.
    answer : ipywidgets.HTML
        What was done, or why it could not be done.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self,
        sale: SaleToLookAt,
        words: str,
        *,
        set_aside: Decide,
        restore: Decide,
        told: Callable[[], None],
    ) -> None:
        self.sale = sale
        self._set_aside, self._restore, self._told = set_aside, restore, told
        self.done = False
        self.reason = ipywidgets.Text(
            description="Reason",
            placeholder="what is wrong with it",
            continuous_update=False,
            layout={"width": "32rem", "max_width": "100%"},
        )
        self.button = ipywidgets.Button(description=_PLAIN, layout=WIDTH_OF_WORDS)
        self.button.on_click(self._clicked)
        self.answer = ipywidgets.HTML()
        line = ipywidgets.HBox([self.reason, self.button], layout={"flex_flow": "row wrap"})
        self.box = ipywidgets.VBox([ipywidgets.HTML(words), line, self.answer])

    def _clicked(self, _: Any) -> None:
        reason = self.reason.value.strip()
        if not reason:
            self._say("Write the reason first: it is kept with the sale.")
            return
        try:
            (self._restore if self.done else self._set_aside)(self.sale.key, reason)
        except ValuationError as error:
            self._say(str(error))
            return
        self.done = not self.done
        self.button.description = _BACK if self.done else _PLAIN
        self.reason.disabled = self.done
        self._say("Set aside." if self.done else "Counts again.")
        self._told()

    def _say(self, text: str) -> None:
        self.answer.value = f'<p role="status"><strong>{escape(text)}</strong></p>'


class LookForm:
    """The sales to look at with a button for each; made by :func:`look_form`.

    Parameters
    ----------
    looked : LookList
        The list.
    set_aside, restore : callable
        Called with the key of a sale and the reason.

    Attributes
    ----------
    rows : tuple of SaleRow
        One for each sale that has a key.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(self, looked: LookList, *, set_aside: Decide, restore: Decide) -> None:
        self._looked = looked
        self._count = ipywidgets.HTML()
        self.rows = tuple(
            SaleRow(
                sale,
                _words(number, sale, looked.currency),
                set_aside=set_aside,
                restore=restore,
                told=self._show,
            )
            for number, sale in enumerate(looked.sales, start=1)
            if sale.key
        )
        parts = [self._count, *(row.box for row in self.rows), hint(HINT)]
        self.box = ipywidgets.VBox(parts)
        self._show()

    @property
    def set_aside(self) -> tuple[str, ...]:
        """Keys of the sales that were set aside here and not taken back."""
        return tuple(row.sale.key for row in self.rows if row.done)

    def __repr__(self) -> str:
        return f"{self._said()}\n{self._looked.summary()}"

    def _repr_mimebundle_(self, **options: Any) -> dict[str, Any]:
        """Return the form, and the list as text for whoever shows no forms."""
        bundle: dict[str, Any] = self.box._repr_mimebundle_(**options)
        return {**bundle, "text/plain": repr(self)}

    def _said(self) -> str:
        keyless = len(self._looked.sales) - len(self.rows)
        left = f" {keyless:,} of them are in no workspace and can't be set aside." * bool(keyless)
        return f"{self._looked.head}{left} Set aside here: {len(self.set_aside):,}."

    def _show(self) -> None:
        self._count.value = f"<p>{escape(self._said())}</p>"


def look_form(looked: LookList, *, set_aside: Decide, restore: Decide) -> LookForm:
    """Return a form in which an analyst sets sales aside with a reason, and takes it back.

    Parameters
    ----------
    looked : LookList
        The sales to look at; those without a key can only be read.
    set_aside, restore : callable
        Called with the key of a sale and the reason; a :class:`ValuationError` of theirs is shown
        beside the sale.

    Returns
    -------
    LookForm
        The last expression of a cell shows it.
    """
    return LookForm(looked, set_aside=set_aside, restore=restore)


def _words(number: int, sale: SaleToLookAt, currency: str) -> str:
    """Return what is odd about a sale as markup."""
    told = [day(sale.sale_date), sale.venue, sale.basis, sale.key]
    where = ", ".join(t for t in told if t and t != "unknown")
    price = (
        f"{sale.price:,} {currency}; the others say {sale.estimate:,} ({sale.off:+.0f}%). "
        f"{sale.typical.of} would change by {sale.typical.money:+,} {currency} "
        f"({sale.typical.per_cent:+.1f}%), {sale.own.of} by {sale.own.money:+,} {currency} "
        f"({sale.own.per_cent:+.1f}%)."
    )
    reasons = "".join(f"<li>{escape(r.kind)}: {escape(r.sentence)}</li>" for r in sale.reasons)
    return (
        f'<div style="line-height: 1.4; max-width: 46rem"><strong>{number}  {escape(sale.car)}'
        f"</strong><br>{escape(where)}<br>{escape(price)}<ul>{reasons}</ul></div>"
    )
