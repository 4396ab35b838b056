"""Test rides planned: the form in which the rides so far are chosen, and the checklist, which prints on one page."""

import json
from collections.abc import Sequence

from flask import Flask

from ridelog.compare import plan as planning
from ridelog.compare.plan import Plan
from ridelog.report.making import Making
from ridelog.report.plans import plan_parts
from ridelog.report.sheet import text
from ridelog.tell.pages import asking as words
from ridelog.tell.pages import orders
from ridelog.tell.refusals.page import orders as refusals
from ridelog.web.ids import PLAN_PATH
from ridelog.web.orders.comparisons import PLAN, plan_made
from ridelog.web.orders.groups import ChosenGroup, limits_for, n_rides
from ridelog.web.orders.order import Order, Wanted
from ridelog.web.pages.asked.choosing import Ask, Fields, add_ask
from ridelog.web.pages.asked.desk import Desk, add_order_pages, takeaway
from ridelog.web.pages.asked.report import document_look
from ridelog.web.parts.forms import line

KIND = "plan"
USUAL = "1"  # percentage points
OFFERED = tuple(f"{PLAN}{form}" for form in (".pdf", ".html", ".json"))


def add_plan(server: Flask, desk: Desk) -> None:
    """Add the form, and the pages of plans.

    Parameters
    ----------
    server : of the page
    desk : where rides and orders are
    """
    ask = Ask(PLAN_PATH, words.PLAN_TITLE, words.PLAN_LEAD, words.MAKE_PLAN, 1, _fields, _wanted, ("paper", "numbers"))
    add_ask(server, desk, ask)
    add_order_pages(server, desk, KIND, PLAN_PATH, _shown)


def _fields(fields: Fields) -> str:
    return line("difference", words.DIFFERENCE, fields.get("difference", USUAL), longest=8, mode="decimal")


def _wanted(groups: Sequence[ChosenGroup], fields: Fields, back: str) -> Wanted:
    given = (tuple(groups), points(fields.get("difference", "")), document_look(fields))
    return Wanted(KIND, words.PLAN_TITLE, plan_made, given, limits_for(n_rides(groups)), back)


def points(given: str) -> float:
    """A difference as somebody writes it, with a point or a comma [percentage points].

    Raises
    ------
    UsageError : it is none
    """
    try:
        return planning.points(given)
    except ValueError:
        raise refusals.no_points() from None


def _shown(order: Order) -> list[str]:
    path = order.made(f"{PLAN}.json")
    if path is None:
        return []
    _, _, look = order.wanted.given
    plan = Plan.from_dict(json.loads(path.read_text(encoding="utf-8")))
    back = f'<p class="screen"><a href="{text(order.wanted.back)}">{text(orders.BACK)}</a></p>'
    return [*plan_parts(plan, Making(style=look.style, paper=look.paper)), takeaway(order, OFFERED), back]
