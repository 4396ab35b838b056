"""What stands below all pages: where files are read, for whoever sits where."""

from ridelog.tell.pages.navigation import kept


def test_who_sits_elsewhere_is_told_whose_computer_it_is():
    assert "on this computer" in kept(by_others=False)
    assert "whose owner can see it" in kept(by_others=True)
    assert "this computer" not in kept(by_others=True)
    for by_others in (False, True):
        assert "stay in the store" not in kept(by_others=by_others)
        assert kept(by_others=by_others, in_store=True).endswith("Rides that you keep stay in the store.")
