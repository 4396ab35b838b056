"""The ledger in words: its lines, its bands, how well it closes."""

import dataclasses

from ridelog.tell.kinds import ENERGY
from ridelog.tell.ledger import RETURNED, band_name, closing, lines, sentence
from ridelog.tell.numbers import IMPERIAL, amount
from ridelog.tell.ride import ledger_label
from ridelog.uncertain.quantity import Quantity
from tests.tell.ledgers import BANDS, ENTRY, LEDGER, q


def test_signed_lines_add_up_to_nothing():
    """What comes in goes out again: the entry, by hand."""
    assert sum(line.sign * line.quantity.value for line in lines(ENTRY)) == 0


def test_bands_are_named_in_either_system():
    """10 km/h are 6.2 mph (6.2137)."""
    assert [band_name(band) for band in BANDS] == ["0 to 10 km/h", "above 10 km/h"]
    assert [band_name(band, IMPERIAL) for band in BANDS] == ["0 to 6.2 mph", "above 6.2 mph"]


def test_the_closing_error_and_what_is_assumed_are_told():
    assert closing(LEDGER) == (
        "Added up from forces instead of energies, the work at the wheel differs by 0.02 Wh (closing error). "
        "Assumed: 45 to 92 % gets from the wheel into the battery; motor drag 1.5 ± 0.3 N (from the bike file); your "
        "own work is not known."
    )


def test_the_sentence_and_the_label_name_what_was_missed(make_answer):
    """Of 16 Wh available 6 Wh came back and 10 Wh did not: as the entry holds them, nothing is worked out here."""
    answer = dataclasses.replace(make_answer(), ledger=LEDGER)
    assert sentence(answer) == (
        "Braking had 16.0 Wh available at the wheel: 6.00 Wh came back and 10.0 Wh did not. What the friction brakes "
        "took could have put about 5.00 Wh (4.50 to 5.50) into the battery."
    )
    assert "table below" in ledger_label(answer)
    assert sentence(make_answer()) is None


def test_where_nothing_was_missed_the_brakes_took_nothing(make_answer):
    caught = dataclasses.replace(ENTRY, missed_wh=q(0), catchable_wh=q(0))
    answer = dataclasses.replace(make_answer(), ledger=dataclasses.replace(LEDGER, ride=caught))
    assert sentence(answer).endswith("came back: the friction brakes took nothing.")


def test_what_was_lost_is_told_as_brought_in():
    """A ride that ends 25 Wh lower: height lost, with its bounds turned round; the lines still add up."""
    lower = dataclasses.replace(ENTRY, potential_wh=Quantity(-25.0, -26.5, -23.9), unexplained_wh=q(43))
    told = {line.key: line for line in lines(lower)}
    assert told["potential_wh"].name == "height lost"
    assert (told["potential_wh"].sign, told["potential_wh"].quantity) == (1, Quantity(25.0, 23.9, 26.5))
    assert sum(line.sign * line.quantity.value for line in told.values()) == 0
    assert {line.key: line for line in lines(ENTRY)}["potential_wh"].name == "height gained"


def test_more_out_than_in_is_put_down_to_pedalling_that_nobody_logged():
    """Where the rider's work is logged, it can only be an error of the lines."""
    for rider_wh, meaning in ((None, "your pedalling, less motor"), (q(20), "errors of the lines above")):
        entry = dataclasses.replace(ENTRY, rider_wh=rider_wh, unexplained_wh=q(-3))
        (line,) = [line for line in lines(entry) if line.key == "unexplained_wh"]
        assert (line.sign, line.quantity.value) == (1, 3)
        assert line.meaning.startswith(meaning)


def test_a_number_is_rounded_once():
    """4.8249 Wh is 4.82 Wh, not 4.83 by way of 4.825."""
    (line,) = [line for line in lines(dataclasses.replace(ENTRY, returned_wh=Quantity(4.8249))) if line.key == RETURNED]
    assert amount(line.quantity.value, ENERGY) == "4.82 Wh"


def test_nothing_is_told_finer_than_a_milliwatt_hour():
    fine = dataclasses.replace(ENTRY, kinetic_wh=Quantity(1e-7, -0.00003, 0.00003))
    (line,) = [line for line in lines(fine) if line.key == "kinetic_wh"]
    assert line.quantity == Quantity(0, 0, 0)
