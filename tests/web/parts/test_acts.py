"""Buttons that change a visitor's rides."""

from ridelog.web.parts.acts import act_button


def test_a_button_says_what_it_does_to_the_page_and_to_who_hears_it_and_has_no_name_of_its_own():
    props = act_button("remove:a", "Take out", "Take a.csv out").to_plotly_json()["props"]
    assert props["data-act"] == "remove:a"
    assert props["aria-label"] == "Take a.csv out"
    assert not props["hidden"]
    assert "id" not in props
    assert act_button("undo:", "Put it back", shown=False).hidden
