"""What makes a difference uncertain, in a table: every number that of the record."""

from dataclasses import replace

import pytest

from ridelog.tell.compare.uncertainty import budget, shared
from tests.compare.campaigns import told_comparison

WHOLE = told_comparison()


def test_what_makes_a_difference_uncertain_stands_beside_what_its_verdict_follows_from():
    table, told = budget(WHOLE), WHOLE.differences[0]
    assert "of" not in [column.key for column in table.columns]  # there are two groups only
    row = dict(zip([column.key for column in table.columns], table.rows[0], strict=True))
    assert (row["what"], row["freedom"], row["level"]) == ("recovered, as ridden", "5", f"{told.level_pct:.2f} %")
    assert float(row["chance"].split()[0]) == pytest.approx(told.by_chance_u, rel=0.05)
    assert float(row["within"].split(" to ")[0]) == pytest.approx(told.verdict_low, abs=0.06)
    causes = dict(shared(WHOLE).rows)
    assert causes == {"used, as ridden": f"voltage gain {WHOLE.differences[2].shared['voltage gain']:.2f} Wh/km"}
    of_three = replace(WHOLE, groups=(*WHOLE.groups, replace(WHOLE.groups[0], name="weak")))
    assert shared(of_three).rows[0][1] == "strong less off"


def test_a_probability_too_small_to_be_known_is_said_to_be_smaller():
    sure = replace(WHOLE, differences=(replace(WHOLE.differences[0], p_value=3e-7, p_corrected=0.0312),))
    assert budget(sure).column("p") == ["< 0.0001"]
    assert budget(sure).column("p_holm") == ["0.031"]
