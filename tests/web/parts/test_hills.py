"""The hills with their bars."""

from dataclasses import replace

from ridelog.tell import page
from ridelog.tell.numbers import IMPERIAL, PAGE, typeset
from ridelog.uncertain.quantity import Quantity
from ridelog.web.parts.hills import hill_ledger


def of_class(component, name):
    """Every component beneath with a class among its classes."""
    found = [component] if name in (getattr(component, "className", None) or "").split() else []
    children = getattr(component, "children", None)
    for child in children if isinstance(children, (list, tuple)) else [children]:
        if child is not None and not isinstance(child, str):
            found += of_class(child, name)
    return found


def test_bars_share_one_scale_of_energy(make_answer):
    """The longest energy is 48 Wh (hill 1, up): 10.2 Wh available is 21.25 % of its bar, 4.1 Wh returned 8.54 %."""
    table = hill_ledger(make_answer(), PAGE)
    assert of_class(table, "drawn")[1].style["width"] == "100.00%"  # after the mark of the hill
    assert of_class(table, "outline")[0].style["width"] == "21.25%"
    assert any(bar.style["width"] == "8.54%" for bar in of_class(table, "fill") if "returned" in bar.className)


def test_a_share_beyond_all_does_not_leave_its_cell(make_answer):
    answer = make_answer()
    hills = tuple(replace(hill, captured_pct=Quantity(140.0)) for hill in answer.hills)
    bars = [
        bar for bar in of_class(hill_ledger(replace(answer, hills=hills), PAGE), "fill") if "captured" in bar.className
    ]
    assert bars
    assert {bar.style["width"] for bar in bars} == {"100.00%"}


def test_each_cell_knows_its_head_for_narrow_pages_in_the_units_chosen(make_answer):
    row = hill_ledger(make_answer(), typeset(IMPERIAL)).children[2].children[1]
    labels = [getattr(cell, "data-label") for cell in row.children[1:]]
    assert labels == [
        "From–to, mi", "Height, ft", "Grade, %", "Drawn, Wh", "Returned of available, Wh", "Captured, %",
        "Recovered both ways, %",
    ]  # fmt: skip


def test_what_was_available_is_shown_where_nobody_knows_what_came_back(make_answer):
    answer = make_answer()
    hills = tuple(replace(hill, returned_wh=None) for hill in answer.hills)
    table = hill_ledger(replace(answer, hills=hills, hill_pairs=()), PAGE)
    assert [head.children for head in table.children[1].children.children][-3:] == [
        "Drawn, Wh",
        "Available, Wh",
        "Captured, %",
    ]
    assert of_class(table, "of") == []
    assert of_class(table, "outline")
    caption = table.children[0].children
    assert "available at the wheel." in caption
    assert "reached" not in caption


def test_a_hill_of_which_nobody_knows_what_came_back_still_shows_what_was_available(make_answer):
    answer = make_answer()
    hills = (*answer.hills[:1], replace(answer.hills[1], returned_wh=None), *answer.hills[2:])
    assert "".join(of_class(hill_ledger(replace(answer, hills=hills), PAGE), "of")[0].children) == " of 10.2"


def test_a_track_alone_has_no_column_of_dashes(make_answer):
    """Heights and grades, and nothing of energy; the caption explains no bar that is not there."""
    answer = make_answer()
    unknown = {"drawn_wh": None, "returned_wh": None, "recovered_pct": None, "available_wh": None, "captured_pct": None}
    table = hill_ledger(replace(answer, hills=tuple(replace(h, **unknown) for h in answer.hills), hill_pairs=()), PAGE)
    assert of_class(table, "none") == []
    assert table.children[0].children == page.INTERVALS


def test_a_ride_without_hills_says_what_a_hill_is(make_answer):
    assert hill_ledger(make_answer(hills=()), PAGE).children.replace("\xa0", " ") == (
        "No hill on this ride climbs or falls by 5 m or more at 2 % or more."
    )


def test_a_hill_with_a_page_of_its_own_leads_there_and_no_other_does(make_answer):
    answer = make_answer()
    places = {answer.hills[1].start_s: "0badcafe-down"}
    links = of_class(hill_ledger(answer, PAGE, places), "over")
    assert [link.href for link in links] == ["/hill/0badcafe-down"]
    assert getattr(links[0], "aria-label") == f"{answer.hills[1].name}, over time"
    assert of_class(hill_ledger(answer, PAGE), "over") == []
