"""Rides compared: the form in which they are chosen, and the page of what was found, with all that it rests on."""

import json
from collections.abc import Sequence
from dataclasses import replace

from flask import Flask

from ridelog.compare.record import Comparison
from ridelog.report.comparison.page import comparison_parts
from ridelog.report.making import Making
from ridelog.report.sheet import text
from ridelog.tell.pages import asking as words
from ridelog.tell.pages import orders
from ridelog.web.ids import COMPARE_PATH, PLAN_PATH
from ridelog.web.orders.comparisons import COMPARISON, RIDES, compared_rides, comparison_made
from ridelog.web.orders.groups import ChosenGroup, command_again, limits_for, n_rides
from ridelog.web.orders.order import Order, Wanted
from ridelog.web.pages.asked.choosing import Ask, Fields, add_ask
from ridelog.web.pages.asked.desk import Desk, add_order_pages, takeaway
from ridelog.web.pages.asked.report import document_look

KIND = "compare"
TABLES = ("differences.csv", "groups.csv", "conditions.csv", "precision.csv", "rides.csv")
OFFERED = (*(f"{COMPARISON}{form}" for form in (".pdf", ".html", ".zip", ".json")), *TABLES)


def add_compare(server: Flask, desk: Desk) -> None:
    """Add the form, and the pages of comparisons.

    Parameters
    ----------
    server : of the page
    desk : where rides and orders are
    """
    ask = Ask(
        COMPARE_PATH, words.COMPARE_TITLE, words.COMPARE_LEAD, words.MAKE_COMPARISON, 2, lambda _fields: "", _wanted,
        ("units", "numbers", "paper"),
    )  # fmt: skip
    add_ask(server, desk, ask)
    add_order_pages(server, desk, KIND, COMPARE_PATH, _shown)


def _wanted(groups: Sequence[ChosenGroup], fields: Fields, back: str) -> Wanted:
    title = f"{words.COMPARE_TITLE}: {', '.join(group.name for group in groups)}"
    given = (tuple(groups), document_look(fields))
    return Wanted(KIND, title, comparison_made, given, limits_for(n_rides(groups)), back)


def _shown(order: Order) -> list[str]:
    path = order.made(f"{COMPARISON}.json")
    if path is None:
        return []
    groups, look = order.wanted.given
    found = Comparison.from_dict(json.loads(path.read_text(encoding="utf-8")))
    command = command_again(groups, [*replace(look, with_places=False).options()], f"{COMPARISON}.pdf")
    making = Making(style=look.style, paper=look.paper, with_places=False, command=command)
    rides = order.made(RIDES)
    front, *rest = comparison_parts(found, making, [] if rides is None else compared_rides(rides))
    plan = order.wanted.back.replace(COMPARE_PATH, PLAN_PATH, 1)
    links = ((order.wanted.back, orders.BACK), (plan, words.PLAN_MORE))
    back = " · ".join(f'<a href="{text(path)}">{text(said)}</a>' for path, said in links)
    back = f'<p class="screen">{back}</p>'
    return [front, takeaway(order, OFFERED), back, *rest]
