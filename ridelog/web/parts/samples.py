"""The sample rides as links, each with its own address."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.web.ids import SAMPLE_PATH
from ridelog.web.samples import Sample


def sample_cards(samples: Sequence[Sample], path: str | None) -> list[Any]:
    """A card for each sample ride; the one in view says so, and where none was chosen yet each says what it is.

    Parameters
    ----------
    samples : in their order
    path : of the page's address

    Returns
    -------
    Items of a list.
    """
    chosen = bool((path or "").strip("/"))
    here = path if chosen else f"{SAMPLE_PATH}{samples[0].slug}" if samples else ""
    return [
        html.Li(_card(sample, in_view=f"{SAMPLE_PATH}{sample.slug}" == here, told=not chosen)) for sample in samples
    ]


def _card(sample: Sample, *, in_view: bool, told: bool) -> Any:
    current = {"aria-current": "page"} if in_view else {}
    return html.A(
        [html.Span(sample.title, className="title"), *([html.Span(sample.sentence)] if told else [])],
        href=f"{SAMPLE_PATH}{sample.slug}",
        className="go sample-card",
        **current,
    )
