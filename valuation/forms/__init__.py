"""Forms for notebooks: sliders, fields and lists that answer at once; of the extra `notebooks`."""

from valuation.forms.bid_form import BidForm, bid_form
from valuation.forms.justify_form import JustifyForm
from valuation.forms.justify_start import NoForm, justify_form
from valuation.forms.look_form import LookForm, look_form

__all__ = ["BidForm", "JustifyForm", "LookForm", "NoForm", "bid_form", "justify_form", "look_form"]
