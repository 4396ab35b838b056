"""The pack on the page."""

from ridelog.answer.pack import Pack
from ridelog.uncertain.quantity import Quantity
from ridelog.web.pack import pack_table


def test_the_table_holds_each_known_number_with_unit_and_interval():
    pack = Pack(resistance_ohm=Quantity(0.21, 0.2076, 0.2124), highest_cell_v=Quantity(4.272, 4.252, 4.293))
    shown = str(pack_table(pack)).replace("\\xa0", " ")  # numbers do not break from their units
    for part in ("0.210 Ω", "0.208 to 0.212", "4.27 V", "4.25 to 4.29"):
        assert part in shown, part
    assert "Free at the start" not in shown


def test_a_pack_of_which_nothing_is_known_has_no_table():
    assert pack_table(Pack()) is None
