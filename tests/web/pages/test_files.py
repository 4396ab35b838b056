"""One table in three forms, and the links to them."""

import io
import json

import pandas as pd
import pytest

from ridelog.web.pages.files import KINDS, downloads, file_of

FRAME = pd.DataFrame({"bike": ["Ruff", "Öre"], "x": [1.25, float("nan")]})


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_holds_the_table(kind):
    reply = file_of(FRAME, kind, "name")
    content = reply.get_data()
    read = {
        "csv": lambda: pd.read_csv(io.BytesIO(content)),
        "json": lambda: pd.DataFrame(json.loads(content)).astype({"x": float}),
        "parquet": lambda: pd.read_parquet(io.BytesIO(content)),
    }[kind]()
    pd.testing.assert_frame_equal(read, FRAME, check_dtype=False)
    assert reply.headers["Content-Disposition"] == f"attachment; filename=name.{kind}"
    assert reply.headers["Cache-Control"] == "no-store"


def test_json_holds_what_is_told_where_it_is():
    assert json.loads(file_of(FRAME, "json", "n", {"a": 1}).get_data()) == {"a": 1}


def test_links_keep_what_is_asked_for():
    shown = downloads("/rides", "bike=a&route=b")
    assert shown.count('href="/rides.') == 3
    assert "/rides.csv?bike=a&amp;route=b" in shown
