"""What commands say beside their data."""

from ridelog.tell import commands


def test_what_was_written_is_named_with_its_keys():
    assert commands.written("b.toml", ["cda_m2", "crr"]) == "wrote cda_m2, crr to b.toml"
    assert commands.written("map.toml") == "wrote map.toml"


def test_a_header_that_is_not_there_is_told_beside_the_map():
    assert commands.stranger("I1", "map.toml") == "note: no column here is headed 'I1', as map.toml has it"
