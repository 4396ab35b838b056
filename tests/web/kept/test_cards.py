"""A card is made once, and the one looked at longest ago goes first."""

from ridelog.web.kept.cards import Card, Cards


def test_cards_are_made_once_and_bounded():
    made, cards = [], Cards(most=2)

    def get(key):
        return cards.get(key, lambda: made.append(key) or Card(key, ""))

    assert [get(key).headline for key in ("a", "b", "a", "c", "a", "b")] == ["a", "b", "a", "c", "a", "b"]
    assert made == ["a", "b", "c", "b"]
