"""What a form says is looked up among what was offered; a visitor's files are linked where no change reaches them."""

import pytest

from ridelog.errors import UsageError
from ridelog.web.orders.choosing import Campaign, Chosen, Offer, campaign_in
from tests.web.visits import write_campaign

OFFERED = [Offer("a", "Ride a", "yours"), Offer("b", "Ride b", "yours")]


def test_only_what_is_offered_is_chosen_and_only_into_groups_that_there_are():
    fields = {"ride-a": "A", "ride-b": "Z", "ride-../x": "A", "name-A": " weak ", "name-Z": "x"}
    chosen = Chosen.read(fields, OFFERED)
    assert chosen.of_ride == {"a": "A"}
    assert chosen.used() == ["A"]
    assert chosen.named() == {"A": "weak"}
    assert Chosen.read({"ride-b": "C"}, OFFERED).named() == {"C": "C"}  # called by its letter


@pytest.mark.parametrize("name", ["a/b", "a=b", "a?b", "a\\b", "a\nb", "x" * 41])
def test_a_name_that_no_group_can_have_is_refused(name):
    with pytest.raises(UsageError, match="group 1 has no name"):
        Chosen.read({"ride-a": "A", "name-A": name}, OFFERED).named()


def test_the_campaign_is_found_beside_the_sample_rides_and_read_when_it_is_asked_for(tmp_path):
    assert campaign_in(None) is None
    assert campaign_in(tmp_path) is None
    write_campaign(tmp_path / "campaign", n_rides=2)
    campaign = campaign_in(tmp_path)
    assert campaign.groups == ["weak", "strong"]
    assert campaign.all_of("strong") == {"campaign.strong.1", "campaign.strong.2"}
    chosen = Chosen.of_campaign(campaign)
    assert chosen.names == {"A": "weak", "B": "strong"}
    assert chosen.of_ride["campaign.weak.2"] == "A"


def test_a_folder_that_cannot_be_read_offers_nothing(tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / "bike.toml").write_text("")
    assert Campaign(tmp_path).rides() == {}
