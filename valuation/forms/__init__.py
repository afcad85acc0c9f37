"""Forms for notebooks: sliders and lists that answer at once; they need the extra `notebooks`."""

from valuation.forms.bid_form import BidForm, bid_form
from valuation.forms.look_form import LookForm, look_form

__all__ = ["BidForm", "LookForm", "bid_form", "look_form"]
