"""What the forms say."""

from ridelog.tell.pages import asking


def test_rides_that_cannot_be_chosen_are_counted():
    assert asking.left_out(1) == "1 ride of yours cannot be chosen: not measured yet, or refused."
    assert asking.left_out(3).startswith("3 rides of yours")


def test_the_first_of_each_choice_is_what_the_command_line_takes_by_itself():
    usual = {key: options[0][0] for key, options in asking.CHOICES.items()}
    assert usual == {"units": "metric", "numbers": "point", "paper": "a4", "places": "yes"}
