"""The form's values are checked, and put into the bike file that there is."""

import pytest

from ridelog.settings.bike_form import entered
from ridelog.web.callbacks.bike import bike_text, checked, text_with
from ridelog.web.samples import list_samples
from tests.places import SAMPLES


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("5", "bike.total_mass_kg = 5.0: a number from 30 to 600 is allowed"),
        ("x", "bike.total_mass_kg = 'x': a number from 30 to 600 is allowed"),
        ("112,5", None), ("", None), (None, None),
    ],
)  # fmt: skip
def test_a_value_is_checked_as_in_the_bike_file(written, said):
    assert checked("bike.total_mass_kg", written) == said


def test_only_what_changed_is_written():
    text = "[bike]\ntotal_mass_kg = 1.10e2 # weighed\n"
    fields = {"bike.total_mass_kg": "110", "bike.name": "", "motor.kind": None}
    assert text_with(text, fields) == text
    assert entered(text_with(text, {**fields, "bike.total_mass_kg": "", "motor.kind": "mid-drive"})) == {
        "motor.kind": "mid-drive"
    }


def test_a_sample_has_its_own_bike_file():
    assert entered(bike_text(list_samples(SAMPLES)[0]))["bike.total_mass_kg"] == 108.0
