"""Forms for notebooks: sliders, fields and lists that answer at once; of the extra `notebooks`."""

from valuation.forms.ask_form import AskForm, ask_form
from valuation.forms.bid_form import BidForm, bid_form
from valuation.forms.justify_form import JustifyForm
from valuation.forms.justify_start import NoForm, justify_form
from valuation.forms.look_form import LookForm, look_form

__all__ = [
    "AskForm",
    "BidForm",
    "JustifyForm",
    "LookForm",
    "NoForm",
    "ask_form",
    "bid_form",
    "justify_form",
    "look_form",
]
