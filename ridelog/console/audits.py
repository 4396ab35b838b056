"""An audit on a terminal: what stands out first, then a table of the bikes, the hills, and what failed."""

import json
from pathlib import Path
from typing import IO, TextIO, cast

from rich.padding import Padding
from rich.text import Text

from ridelog.console.drawing import SEVERITY_STYLE, console_on, draw_table
from ridelog.destination import written_whole
from ridelog.fleet.record import Audit
from ridelog.tell.fleet import audit as words
from ridelog.tell.numbers import METRIC, Style


def print_audit(audit: Audit, stream: IO[str], style: Style = METRIC) -> None:
    """The audit as a person wants it.

    Parameters
    ----------
    audit : of some bikes
    stream : where it is written
    style : units, digits and separators
    """
    console = console_on(stream)
    console.print(Text(words.headline(audit), style="bold"))
    for remark in words.remarks(audit, style):
        label = (f"{remark.severity}: ", SEVERITY_STYLE[remark.severity])
        console.print(Text.assemble(label, (remark.who, "bold"), f" [{remark.code}]"))
        # A pipe gets each remark in one line, however long it is.
        console.print(Padding(Text(remark.words), (0, 0, 0, 2)) if stream.isatty() else Text(f"  {remark.words}"))
    console.print()
    for table in (words.bikes(audit, style), words.hills(audit), words.failed(audit)):
        if table.rows:
            draw_table(table, console, style)
            if table.note:
                console.print(Text(table.note, style="dim"))
                console.print()
    console.print(Text(words.work_done(audit), style="dim"))


def write_audit(audit: Audit, target: str, style: Style = METRIC) -> None:
    """The audit as a file, in the form that its name's ending says: .json, .csv, .parquet or .html.

    Parameters
    ----------
    audit : of some bikes
    target : path of the file
    style : units of the HTML page

    Raises
    ------
    RidelogError : it cannot be written
    """
    from ridelog.report import audits

    forms = {
        ".json": lambda: json.dumps(audit.to_dict(), indent=2, ensure_ascii=False, allow_nan=False).encode() + b"\n",
        ".csv": lambda: audits.audit_csv(audit).encode(),
        ".parquet": lambda: audits.audit_parquet(audit),
        ".html": lambda: audits.audit_page(audit, style).encode(),
    }
    content = forms[Path(target).suffix.lower()]()
    with written_whole(target) as stream:
        cast("TextIO", stream).buffer.write(content)
