"""The sample rides: found in their order, described wholly or named."""

import pytest

from ridelog.errors import InputError
from ridelog.web.samples import list_samples


def test_the_samples_come_in_their_order(samples):
    """The ride with the lowest order is the first."""
    assert [sample.slug for sample in list_samples(samples)] == ["beta", "alpha"]
    assert list_samples(None) == ()
    assert list_samples(samples / "not there") == ()


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ("title = 1", "'files'"),
        ("title =", "is not TOML"),
        ('title = "T"\nfiles = ["gone.csv"]', r"not there: gone\.csv"),
        ('title = "T"\nfiles = []\norder = "first"', "does not describe"),
    ],
)
def test_a_sample_that_is_not_whole_is_named(samples, about, words):
    """A broken description is an error that names the file and the cause."""
    (samples / "alpha" / "about.toml").write_text(about)
    with pytest.raises(InputError, match=words):
        list_samples(samples)


def test_a_sample_without_bike_file_and_order_comes_last(samples):
    (samples / "alpha" / "about.toml").write_text('title = "A"\nfiles = ["log.csv"]\n')
    first, last = list_samples(samples)
    assert (first.slug, last.slug, last.bike, last.sentence) == ("beta", "alpha", None, "")
