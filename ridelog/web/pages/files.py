"""What pages show as files for other programs: CSV, JSON and Parquet of one table."""

import io
import json
from typing import TYPE_CHECKING

from flask import Response

from ridelog.report.sheet import text
from ridelog.tell.pages.kept import DOWNLOAD

if TYPE_CHECKING:
    import pandas as pd

KINDS = {"csv": "text/csv", "json": "application/json", "parquet": "application/vnd.apache.parquet"}
ANY_KIND = "any(csv,json,parquet)"  # of an address


def file_of(frame: "pd.DataFrame", kind: str, name: str, told: object = None) -> Response:
    """A table as a file.

    Parameters
    ----------
    frame : one row each
    kind : one of `KINDS`
    name : of the file, without its end
    told : what JSON holds; the rows of the table by default

    Returns
    -------
    Reply.
    """
    if kind == "json":
        rows = json.loads(frame.to_json(orient="records", date_format="iso")) if told is None else told
        content: str | bytes = json.dumps(rows, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    elif kind == "csv":
        content = frame.to_csv(index=False)
    else:
        target = io.BytesIO()
        frame.to_parquet(target, index=False)
        content = target.getvalue()
    response = Response(content, mimetype=KINDS[kind])
    response.headers.set("Content-Disposition", "attachment", filename=f"{name}.{kind}")
    response.headers["Cache-Control"] = "no-store"
    return response


def downloads(path: str, query: str = "") -> str:
    """The links to the three files of a page.

    Parameters
    ----------
    path : of the page
    query : that says what of it is shown

    Returns
    -------
    HTML.
    """
    asked = f"?{query}" if query else ""
    links = " · ".join(
        f'<a href="{text(f"{path}.{kind}{asked}")}">{kind.upper() if kind != "parquet" else "Parquet"}</a>'
        for kind in KINDS
    )
    return f'<p class="screen">{text(DOWNLOAD)}: {links}</p>'
