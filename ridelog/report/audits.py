"""An audit as a document, and as tables for other programs."""

import io
from collections.abc import Callable, Iterator
from html import escape

import pandas as pd

from ridelog.answer.plain import plain
from ridelog.fleet.record import Audit
from ridelog.report.histories import history
from ridelog.report.sheet import folded_table_of, sentence, sheet, table_of, text
from ridelog.tell.fleet import audit as words
from ridelog.tell.numbers import METRIC, Style, typeset
from ridelog.uncertain.quantity import Quantity

Link = Callable[[str], str | None]


def _nowhere(_of: str) -> None:
    """No link."""


def audit_page(audit: Audit, style: Style = METRIC) -> str:
    """The audit as one HTML page without scripts.

    Parameters
    ----------
    audit : of some bikes
    style : units, digits and separators

    Returns
    -------
    HTML; the same audit gives the same page to the last byte.
    """
    style = typeset(style)
    title, *parts = audit_parts(audit, style)
    done = f'<p class="soft">{text(words.work_done(audit))} ridelog {escape(audit.ridelog)}</p>'
    return sheet(words.headline(audit), [title, done, *parts])


def audit_parts(
    audit: Audit, style: Style, *, bike: Link = _nowhere, hill: Link = _nowhere, ride: Link | None = None
) -> Iterator[str]:
    """The audit, from top to bottom.

    Parameters
    ----------
    audit : of some bikes
    style : units, digits and separators
    bike, hill : where the name of a bike, and the identifier of a hill, leads to; nowhere by default
    ride : where the key of a ride leads to, with a table of each bike's rides; without one by default

    Returns
    -------
    HTML, part by part.
    """
    told = list(words.remarks(audit, style))
    hills_of = table_of if ride is None else folded_table_of  # among other pages, each hill has one of its own
    items = "\n".join(
        f'<li class="{remark.severity}"><b class="{remark.severity}">{text(remark.who)}.</b> '
        f"{sentence(remark.words)}</li>"
        for remark in told
    )
    yield f"<h1>{text(words.headline(audit))}</h1>"
    if told:
        yield f'<ul class="remarks">\n{items}\n</ul>'
    yield from filter(
        None,
        (
            table_of(words.bikes(audit, style), style, [bike(each.bike) for each in audit.bikes]),
            hills_of(words.hills(audit), style, [hill(each.id) for each in audit.hills]),
            table_of(words.failed(audit), style),
        ),
    )
    drawn = [(one, each) for one in audit.bikes if (each := history(one, style))]
    if drawn:
        yield f'<h2>Ride by ride</h2>\n<p class="soft">{text(words.HISTORY_NOTE)}</p>'
    for one, each in drawn:
        yield each
        if parts := folded_table_of(words.parts(one, style), style):
            yield parts
        if ride is not None:
            yield folded_table_of(words.rides(one), style, [ride(point.key) for point in one.history])


def audit_frame(audit: Audit) -> pd.DataFrame:
    """One row a bike: each number with its bounds beside it, what stands out as codes.

    Parameters
    ----------
    audit : of some bikes

    Returns
    -------
    In the order of the audit; what is not known is NaN.
    """
    rows = []
    for bike in audit.bikes:
        row: dict[str, object] = {}
        for name, value in vars(bike).items():
            if isinstance(value, Quantity) or name in ("recovered_pct", "captured_pct", "net_wh_per_km"):
                row |= {name: value and value.value, f"{name}_low95": value and value.low95}
                row[f"{name}_high95"] = value and value.high95
            elif name == "stands_out":
                row[name] = " ".join(one.code for one in bike.stands_out)
            elif name not in ("by_month", "by_air_c", "history", "by_direction"):
                row[name] = plain(value)
        rows.append(row)
    return pd.DataFrame(rows)


def audit_csv(audit: Audit) -> str:
    """`audit_frame` as CSV."""
    return audit_frame(audit).to_csv(index=False)


def audit_parquet(audit: Audit) -> bytes:
    """`audit_frame` as Parquet."""
    content = io.BytesIO()
    audit_frame(audit).to_parquet(content, index=False)
    return content.getvalue()
