"""What commands say beside their data."""

from ridelog.tell import commands


def test_what_was_written_is_named_with_its_keys():
    assert commands.written("b.toml", ["cda_m2", "crr"]) == "wrote cda_m2, crr to b.toml"
    assert commands.written("map.toml") == "wrote map.toml"


def test_a_header_that_is_not_there_is_told_beside_the_map():
    assert commands.stranger("I1", "map.toml") == "note: no column here is headed 'I1', as map.toml has it"


def test_what_is_under_way_goes_on():
    assert commands.under_way("measuring") == "measuring …"


def test_an_address_can_be_opened_as_it_is_told():
    assert commands.address("127.0.0.1", 8050) == "ridelog: http://127.0.0.1:8050/"
    assert commands.address("::1", 8050) == "ridelog: http://[::1]:8050/"
