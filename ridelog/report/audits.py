"""An audit as a document, and as tables for other programs."""

import io
from html import escape

import pandas as pd

from ridelog.answer.plain import plain
from ridelog.fleet.record import Audit
from ridelog.report.histories import history
from ridelog.report.sheet import sentence, sheet, table_of, text
from ridelog.tell.fleet import audit as words
from ridelog.tell.numbers import METRIC, Style, typeset
from ridelog.uncertain.quantity import Quantity


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
    told = list(words.remarks(audit, style))
    items = "\n".join(
        f'<li class="{remark.severity}"><b class="{remark.severity}">{text(remark.who)}</b>: {sentence(remark.words)} '
        f'<span class="soft">{escape(remark.code)}</span></li>'
        for remark in told
    )
    title = words.headline(audit)
    drawn = [each for each in (history(bike, style) for bike in audit.bikes) if each]
    parts = [
        f"<h1>{text(title)}</h1>",
        f'<p class="soft">{text(words.work_done(audit))} ridelog {escape(audit.ridelog)}</p>',
        f'<ul class="remarks">\n{items}\n</ul>' if told else "",
        table_of(words.bikes(audit, style), style),
        table_of(words.hills(audit), style),
        table_of(words.failed(audit), style),
        f'<h2>Ride by ride</h2>\n<p class="soft">{text(words.HISTORY_NOTE)}</p>' if drawn else "",
        *drawn,
    ]
    return sheet(title, (part for part in parts if part))


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
            elif name not in ("by_month", "by_air_c", "history"):
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
