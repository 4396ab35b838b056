"""What every chart is in: one image with a name; its numbers are in a table near it."""

import base64
import json
from typing import Any

import numpy as np
from dash import dcc, html

from ridelog.answer.ride import Answer

GRAPH_CONFIG = {
    "displayModeBar": False,
    "responsive": True,
    "doubleClick": "autosize",
    "scrollZoom": False,
    "showTips": False,
}


def chart(drawing: Any, label: str, name: str) -> Any:
    """A drawing as one image with a name.

    Parameters
    ----------
    drawing : ``data`` and ``layout``
    label : what it shows, for those who do not see it
    name : by which callbacks find it

    Returns
    -------
    Component.
    """
    return _image(dcc.Graph(id=name, figure=sent(drawing), config=GRAPH_CONFIG), label, name)


def folded_chart(drawing: Any, label: str, name: str) -> Any:
    """A drawing of a fold, as one image with a name; assets/folded.js draws it once the fold is opened.

    Parameters
    ----------
    drawing : ``data`` and ``layout``
    label : what it shows, for those who do not see it
    name : by which it is found

    Returns
    -------
    Component.
    """
    data = {"data-figure": json.dumps(sent(drawing)), "data-config": json.dumps(GRAPH_CONFIG)}
    return _image(html.Div(id=name, className="folded-chart", **data), label, name)


def _image(inside: Any, label: str, name: str) -> Any:
    """What is drawn, as one image with a name."""
    return html.Div(inside, role="img", id=f"{name}-image", className="chart", **{"aria-label": label})


def sent(part: Any) -> Any:
    """A part of a drawing as the chart's library in the browser takes it: arrays as their bytes.

    The template of the library for Python is left out: there is none, which is what its name says.
    """
    if isinstance(part, np.ndarray):
        shape = ", ".join(map(str, part.shape))
        kind = f"{part.dtype.kind}{part.dtype.itemsize}"
        return {"dtype": kind, "bdata": base64.b64encode(part.tobytes()).decode("ascii"), "shape": shape}
    if isinstance(part, dict):
        return {key: sent(value) for key, value in part.items() if key != "template"}
    if isinstance(part, (list, tuple)):
        return [sent(each) for each in part]
    return part


def returned_is_known(answer: Answer) -> bool:
    """Whether it can be said where charge came back."""
    return answer.charge.returned_ah is not None or answer.energy.returned_wh is not None
