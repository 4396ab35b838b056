"""A row of a table: what is not known is None."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd

from ridelog.uncertain.quantity import Quantity
from ridelog.web.kept import rows

START = datetime(2026, 3, 28, tzinfo=UTC)
FRAME = pd.DataFrame(
    {
        "ride_start": pd.to_datetime([START, None], utc=True),
        "x": [8.0, np.nan], "x_low95": [7.0, np.nan], "x_high95": [np.nan, np.nan], "group": ["weak", None],
    }
)  # fmt: skip


def test_a_row_gives_numbers_with_intervals_times_and_words():
    known, unknown = FRAME.to_dict("records")
    assert (rows.number(known, "x"), rows.number(unknown, "x"), rows.number(known, "y")) == (8.0, None, None)
    assert (rows.quantity(known, "x"), rows.quantity(unknown, "x")) == (Quantity(8.0, 7.0, None), None)
    assert (rows.moment(known), rows.moment(unknown)) == (START, None)
    assert (rows.words(known, "group"), rows.words(unknown, "group")) == ("weak", None)
