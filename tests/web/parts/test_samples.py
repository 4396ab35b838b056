"""Each sample ride is a link with its own address; the one in view says so."""

import pytest

from ridelog.web.parts.samples import sample_cards
from ridelog.web.samples import list_samples


@pytest.mark.parametrize(
    ("path", "current"),
    [("/", "/sample/beta"), (None, "/sample/beta"), ("/sample/alpha", "/sample/alpha"), ("/ride/x", None)],
)
def test_the_sample_in_view_says_so(samples, path, current):
    links = [item.children for item in sample_cards(list_samples(samples), path)]
    assert [link.href for link in links] == ["/sample/beta", "/sample/alpha"]
    assert [link.href for link in links if getattr(link, "aria-current", None) == "page"] == (
        [current] if current else []
    )
    assert {len(link.children) for link in links} == {2 if (path or "/") == "/" else 1}  # a sentence where one chooses
