"""The ledger as chart and tables: it starts with what was drawn and ends with what came back."""

import dataclasses
import json

import pytest
from dash import Dash
from plotly.utils import PlotlyJSONEncoder

from ridelog.answer.ledger import Ledger, LedgerEntry, SpeedBand
from ridelog.figures.ledger import ledger_figure, waterfall
from ridelog.figures.ride import NIGHT, PAPER
from ridelog.tell.ledger import band_name, closing, lines, sentence
from ridelog.uncertain.quantity import Quantity
from ridelog.web.ledger import band_table, ledger_label, ledger_table


def q(value):
    return Quantity(value, value - 0.5, value + 0.5)


# 70 drawn + 20 rider = 6 returned + 10 height + 0 speed + 35 air + 18 rolling + 4 drag + 7 brakes + 2 charging + 8 rest
ENTRY = LedgerEntry(
    "ride", "ride", 0.0, 1755.0, q(70), q(6), q(20), Quantity(0, 0, 0), q(10), q(35), q(18), q(4), q(66), q(16), q(10),
    q(2), q(7), q(5), q(8), 0.02,
)  # fmt: skip
BANDS = (SpeedBand(0, 10, 31.6, q(2), q(0.6), q(1.4), q(30)), SpeedBand(10, None, 20.0, q(14), None, None, None))
LEDGER = Ledger(ENTRY, assumed=("from wheel to battery 45 to 92 % arrive",))


def words_of(component):
    return json.dumps(component, cls=PlotlyJSONEncoder, ensure_ascii=False)


def test_the_waterfall_leads_from_drawn_to_what_came_back():
    """Worked by hand: 90 Wh go in; 35, 18, 10, 4, 7, 2 and 8 go out; 6 are left, where the last bar ends."""
    steps = waterfall(lines(ENTRY))
    assert steps[:2] == [("battery, drawn", 0.0, 70), ("rider", 70, 90)]
    assert steps[-1] == ("battery, returned", 0.0, 6)
    assert steps[-2][2] == pytest.approx(6)
    assert [name for name, _, _ in steps].count("speed gained") == 0  # nothing, so no bar


def test_what_brings_energy_in_goes_first():
    """A ride that ends lower: the height that it lost is an income; and so is a rest below nothing."""
    lower = dataclasses.replace(ENTRY, potential_wh=q(-10), rest_wh=q(-2), air_wh=q(65))
    names = [name for name, start, end in waterfall(lines(lower)) if end > start]
    assert names == ["battery, drawn", "rider", "height gained", "unexplained rest", "battery, returned"]


@pytest.mark.parametrize("look", [PAPER, NIGHT])
def test_the_chart_has_a_bar_for_each_step_with_its_number(look):
    figure = ledger_figure(LEDGER, look)
    assert len(figure.data) == len(waterfall(lines(ENTRY)))
    assert figure.data[0].x == (70,)
    assert figure.data[-1].text == ("6.00",)


def test_without_what_came_back_there_is_no_chart():
    bare = dataclasses.replace(ENTRY, returned_wh=None, rest_wh=None)
    assert ledger_figure(dataclasses.replace(LEDGER, ride=bare), PAPER) is None
    told = words_of(ledger_table(dataclasses.replace(LEDGER, ride=bare)))
    assert "None" not in told


def test_the_table_tells_every_line_with_its_interval_and_a_sentence_what_is_taken_for_granted():
    told = words_of(ledger_table(LEDGER))
    for words in ("+ battery, drawn", "− air", "35.0", "34.5 to 35.5", "missed"):
        assert words in told
    for words in ("45 to 92 % arrive", "0.02 Wh"):
        assert words in closing(LEDGER)
    app = Dash("test", add_log_handler=False)
    app.layout = ledger_table(LEDGER)


def test_bands_are_named_and_what_is_not_known_is_a_dash():
    assert [band_name(band) for band in BANDS] == ["0 to 10 km/h", "above 10 km/h"]
    told = words_of(band_table(BANDS))
    assert "1.4 (0.90 to 1.9)" in told
    assert "–" in told
    assert band_table(()) is None


def test_the_sentence_and_the_label_name_what_was_missed(make_answer):
    answer = dataclasses.replace(make_answer(), ledger=LEDGER)
    assert sentence(answer).startswith("Braking offered 16.0 Wh at the wheel; 6.00 Wh came back and 10.0 Wh did not.")
    assert "5.00 Wh (4.50 to 5.50 Wh) at the battery" in sentence(answer)
    assert "table below" in ledger_label(answer)
    assert sentence(make_answer()) is None
    assert closing(LEDGER).startswith("Summed up from forces instead of energies")


def test_nothing_is_told_finer_than_a_milliwatt_hour():
    fine = dataclasses.replace(ENTRY, kinetic_wh=Quantity(1e-7, -0.00003, 0.00003))
    (line,) = [line for line in lines(fine) if line.name == "speed gained"]
    assert line.quantity == Quantity(0, 0, 0)
