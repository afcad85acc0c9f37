"""The widgets of forms: labels that are read whole, keys that move them, an answer at the end.

They tell their value when a move has ended, not while it lasts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from typing import Any

import ipywidgets

from valuation.forms.scales import Scale

__all__ = [
    "WIDTH_OF_WORDS",
    "amount_slider",
    "button",
    "choice",
    "field",
    "field_with_words",
    "hint",
    "long_field",
    "narrow_choice",
    "per_cent_slider",
    "views",
    "wipe",
    "with_unit",
]

WIDTH_OF_WORDS = {"width": "max-content"}

_STYLE = {"description_width": "13rem"}
_LAYOUT = {"width": "36rem", "max_width": "100%"}
# A phone shows a name of a field and what is in it side by side.
_NARROW = {"description_width": "9rem"}
_FIELD = {"width": "32rem", "max_width": "calc(100% - 0.5rem)"}


def amount_slider(description: str, scale: Scale) -> ipywidgets.IntSlider:
    """Return a slider for an amount in whole units, from zero."""
    return ipywidgets.IntSlider(
        description=description,
        value=scale.start,
        max=scale.end,
        step=scale.step,
        readout_format=",d",
        continuous_update=False,
        style=_STYLE,
        layout=_LAYOUT,
    )


def per_cent_slider(description: str, start: float) -> ipywidgets.FloatSlider:
    """Return a slider for a probability in per cent, to 50 or, if it starts beyond, to 100."""
    return ipywidgets.FloatSlider(
        description=description,
        value=start,
        max=50.0 if start <= 50 else 100.0,
        step=1.0,
        readout_format=".1f",
        continuous_update=False,
        style=_STYLE,
        layout=_LAYOUT,
    )


def choice(description: str, options: Sequence[str], chosen: str) -> ipywidgets.Dropdown:
    """Return a list to choose one name from, as wide as sliders are."""
    return ipywidgets.Dropdown(
        description=description, options=options, value=chosen, style=_STYLE, layout=_LAYOUT
    )


def narrow_choice(
    description: str, options: Sequence[str | tuple[str, str]], chosen: str
) -> ipywidgets.Dropdown:
    """Return a list as wide as fields are; a pair is what is shown and what it stands for."""
    return ipywidgets.Dropdown(
        description=description,
        options=options,
        value=chosen,
        style=_NARROW,
        layout=_FIELD,
    )


def with_unit(widget: ipywidgets.Widget, unit: str) -> ipywidgets.HBox:
    """Return a widget with the unit of its number behind it."""
    return ipywidgets.HBox([widget, ipywidgets.Label(unit)])


def hint(text: str) -> ipywidgets.HTML:
    """Return a line of plain text below the widgets."""
    return ipywidgets.HTML(f'<p style="max-width: 46rem; line-height: 1.4">{escape(text)}</p>')


def field(description: str, example: str) -> ipywidgets.Text:
    """Return a field for one line of text, which it tells when the line has ended."""
    return ipywidgets.Text(
        description=description,
        placeholder=example,
        continuous_update=False,
        style=_NARROW,
        layout=_FIELD,
    )


def field_with_words(description: str) -> ipywidgets.Combobox:
    """Return a field for one line of text that proposes words but takes any."""
    return ipywidgets.Combobox(
        description=description, continuous_update=False, style=_NARROW, layout=_FIELD
    )


def long_field(description: str, example: str) -> ipywidgets.Textarea:
    """Return a field for text of several lines."""
    return ipywidgets.Textarea(
        description=description,
        placeholder=example,
        continuous_update=False,
        rows=5,
        style=_NARROW,
        layout={**_FIELD, "height": "auto"},
    )


def button(words: str, clicked: Callable[[Any], None]) -> ipywidgets.Button:
    """Return a button as wide as its words."""
    made = ipywidgets.Button(description=words, layout=WIDTH_OF_WORDS)
    made.on_click(clicked)
    return made


def views(names: Sequence[str]) -> ipywidgets.ToggleButtons:
    """Return buttons of which one is pressed: the part of a form that is shown."""
    return ipywidgets.ToggleButtons(
        options=names,
        style={"button_width": "max-content"},
        layout={"max_width": "100%", "margin": "0.75rem 0"},
    )


def wipe(widget: ipywidgets.Widget) -> None:
    """Take out of a widget, and of all that it holds, what is written there; then end them.

    What was ended is on no page any more, and what is kept of it with a notebook holds nothing.
    """
    for child in getattr(widget, "children", ()):
        wipe(child)
    widget.unobserve_all()
    if isinstance(widget, ipywidgets.Dropdown):
        widget.options = ()
    elif isinstance(widget, (ipywidgets.HTML, ipywidgets.Text, ipywidgets.Textarea)):
        widget.value = ""
    widget.close()
