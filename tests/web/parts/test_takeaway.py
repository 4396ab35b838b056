"""Each link leads to a file that there is."""

from ridelog.web.downloads import TABLES
from ridelog.web.parts.takeaway import takeaway


def test_every_table_has_its_link():
    links = [item.children.href for item in takeaway("abc").children[1].children]
    assert links == [
        "/ride/abc/report",
        "/ride/abc/answer.json",
        *(f"/ride/abc/{name}.csv" for name in TABLES),
        "/ride/abc/samples.parquet",
    ]
