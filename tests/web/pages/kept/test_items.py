"""One ride in a list."""

from ridelog.web.kept.cards import Card
from ridelog.web.pages.kept.items import item, listed_items


def test_what_comes_from_outside_stays_text_and_the_name_leads_to_the_ride():
    shown = item('a"b', "<i>", ["Ruff & Co", "", "5 km"], Card("Of 1 < 2", "<svg></svg>"), "<p>more</p>")
    assert '<a href="/ride/a&quot;b">&lt;i&gt;</a>' in shown
    assert "Ruff &amp; Co · 5 km" in shown
    assert "<svg></svg><p>Of 1 &lt; 2</p><p>more</p>" in shown
    assert listed_items([shown]).count("<li>") == 1
