"""Whether the numbers of a current are written with a sign."""

import io

import numpy as np
import pytest

from ridelog.importers import registry
from ridelog.importers.columns.column import Column
from ridelog.importers.shown_sign import shows_sign
from ridelog.settings.column_map import ColumnEntry, ColumnMap
from ridelog.vocabulary.headers import understand


def column(header, channel, sign=1):
    made = Column(header, understand(header, None))
    made.channel, made.sign = channel, sign
    return made


def shown(*written, channel="current_a"):
    return shows_sign([(column("current (A)", channel), np.array(written))])


def test_a_minus_before_any_number_is_a_sign():
    assert shown(1.0, -0.1, 2.0)
    assert shown(1.0, -0.0, 2.0)
    assert not shown(1.0, 0.0, 2.0)
    assert not shown(1.0, -np.nan)  # no number
    assert shown(1.0, -2.0, channel="power_w")
    assert not shown(1.0, -2.0, channel="voltage_v")


def test_the_current_counts_where_there_is_one():
    both = [(column("current (A)", "current_a"), np.array([1.0])), (column("power (W)", "power_w"), np.array([-1.0]))]
    assert not shows_sign(both)


def test_a_column_of_its_own_for_what_flows_in_shows_a_return():
    out, into = column("discharge current (A)", "current_a"), column("charge current (A)", "current_a", sign=-1)
    assert shows_sign([(out, np.array([1.0, 2.0])), (into, np.array([0.0, 0.0]))])
    assert not shows_sign([(out, None)])


ROWS = "time (s),battery current (A),battery voltage (V),speed (km/h)\n"


def log(value, n=400):
    """Driving at 8 A, or at rest, by turns of 10 s; ``value`` writes a current."""
    rows = [f"{k},{value(8.0 if k // 10 % 2 else 0.0)},{50 - 0.8 * (k // 10 % 2):.2f},20" for k in range(n)]
    return (ROWS + "\n".join(rows) + "\n").encode()


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (lambda amperes: f"{amperes:.2f}", False),
        (lambda amperes: f"{-amperes:.2f}", True),  # drawn is negative: every sample has its sign
        (lambda amperes: f"{amperes:+.2f}", True),
        (lambda amperes: f"{amperes:.2f}" if amperes else "-0.00", True),
    ],
    ids=["no sign", "drawn is negative", "plus", "minus nought"],
)
def test_a_log_is_read_with_what_its_numbers_say(value, told):
    (recording,) = registry.read(io.BytesIO(log(value)), name="a.csv")
    assert (recording.writes_sign, recording.can_show_return) == (told, None)
    assert (recording.frame["current_a"] >= 0).all()


def test_a_factor_of_the_map_is_no_sign_of_the_log():
    turned = ColumnMap(column=(ColumnEntry(header="battery current (A)", sign=-1),))
    (recording,) = registry.read(io.BytesIO(log(lambda a: f"{a:.2f}")), name="a.csv", columns=turned)
    assert not recording.writes_sign
