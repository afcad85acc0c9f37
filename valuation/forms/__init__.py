"""Forms for notebooks: sliders and lists that answer at once; they need the extra `notebooks`."""

from valuation.forms.bid_form import BidForm, bid_form

__all__ = ["BidForm", "bid_form"]
