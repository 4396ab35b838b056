"""What a measured ride must be to be kept."""

from dataclasses import replace

import pytest

from tests.fleet.store.kept import made_ride


@pytest.mark.parametrize("key", ["", "1" * 63, "A" * 64, "../" + "1" * 61, "1" * 64 + "\n"])
def test_a_key_is_a_digest(key):
    with pytest.raises(ValueError, match="is no SHA-256"):
        replace(made_ride(1), key=key)


def test_a_bike_has_a_name():
    with pytest.raises(ValueError, match="a bike needs a name"):
        replace(made_ride(1), bike="")
