"""A comparison, and a plan, made in a process of their own, with all that can be taken away of them."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from ridelog.answer.ride import Answer
from ridelog.compare.comparison import comparison_of
from ridelog.compare.groups import Beside, ComparedRide
from ridelog.compare.plan import SoFar, plan_of
from ridelog.compare.record import Comparison
from ridelog.errors import RidelogError
from ridelog.report.comparison.files import comparison_document
from ridelog.report.exports import comparison_tables, csv_of
from ridelog.report.making import Making
from ridelog.report.plans import plan_document
from ridelog.tell.documents import comparison as words
from ridelog.tell.documents import plan as plan_words
from ridelog.web.jobs.process import Tell
from ridelog.web.orders.groups import ChosenGroup, command_again, rides_of
from ridelog.web.orders.order import Far, or_why_not, result, without_given
from ridelog.web.orders.reports import FORMS, DocumentLook

COMPARISON, PLAN = "comparison", "plan"
RIDES = "rides-compared.json"
NAMES = ("group", "name", "key", "bike", "logger")
PLAN_FORMS = (".html", ".pdf")


def comparison_made(groups: Sequence[ChosenGroup], look: DocumentLook, folder: Path, tell: Tell) -> Sequence[bytes]:
    """Compare groups of rides, and write what can be taken away.

    Parameters
    ----------
    groups : as they were chosen
    look : of the documents
    folder : that they are written to
    tell : to whoever waits

    Returns
    -------
    Messages: title, and the forms that could not be made with the reason; or the lines that say why there is nothing to
    compare.
    """

    def work() -> Sequence[bytes]:
        rides = rides_of(groups, tell)
        found = Comparison.from_dict(_without_places(comparison_of(rides).to_dict()))
        _write_json(folder / f"{COMPARISON}.json", found.to_dict())
        for name, table in comparison_tables(found).items():
            (folder / f"{name}.csv").write_bytes(csv_of(table))
        _write_json(folder / RIDES, [_kept(ride) for ride in rides.rides])
        missing: dict[str, list[str]] = {}
        for done, form in enumerate(FORMS):
            tell(Far("writing", done, len(FORMS)).message())
            command = command_again(groups, [*replace(look, with_places=False).options()], f"{COMPARISON}{form}")
            making = Making(style=look.style, paper=look.paper, with_places=False, command=command)
            try:
                (folder / f"{COMPARISON}{form}").write_bytes(comparison_document(found, making, rides.rides, form))
            except RidelogError as error:
                missing[form] = error.lines()
        return result(tell, folder, title=words.title(found), missing=missing)

    return or_why_not(work, folder, tell)


def plan_made(
    groups: Sequence[ChosenGroup], difference: float, look: DocumentLook, folder: Path, tell: Tell
) -> Sequence[bytes]:
    """Plan a campaign from rides so far, and write what can be taken away.

    Parameters
    ----------
    groups : rides so far, each set-up a group
    difference : to be told [percentage points]
    look : of the documents
    folder : that they are written to
    tell : to whoever waits

    Returns
    -------
    Messages: title, and the forms that could not be made with the reason; or the lines that say why there is none.
    """

    def work() -> Sequence[bytes]:
        plan = plan_of(SoFar.of_rides(rides_of(groups, tell, fewest=1)), difference)
        _write_json(folder / f"{PLAN}.json", plan.to_dict())
        missing: dict[str, list[str]] = {}
        for done, form in enumerate(PLAN_FORMS):
            tell(Far("writing", done, len(PLAN_FORMS)).message())
            try:
                content = plan_document(plan, Making(style=look.style, paper=look.paper), form)
                (folder / f"{PLAN}{form}").write_bytes(content)
            except RidelogError as error:
                missing[form] = error.lines()
        return result(tell, folder, title=plan_words.title(plan, look.style), missing=missing)

    return or_why_not(work, folder, tell)


def _without_places(told: dict[str, Any]) -> dict[str, Any]:
    """The comparison without the places at which the page keeps files that visitors gave."""
    failed = [
        {key: without_given(value) if isinstance(value, str) else value for key, value in each.items()}
        for each in told["failed"]
    ]
    return {**told, "failed": failed}


def compared_rides(path: Path) -> list[ComparedRide]:
    """The rides of a comparison, as it kept them for what its page says that they rest on."""
    return [
        ComparedRide(
            group=str(told["group"]),
            name=str(told["name"]),
            key=str(told["key"]),
            start=None if told["start"] is None else datetime.fromisoformat(told["start"]),
            bike=str(told["bike"]),
            logger=str(told["logger"]),
            answer=Answer.from_dict(told["answer"]),
            beside=tuple(Beside(*map(str, each)) for each in told["beside"]),
        )
        for told in json.loads(path.read_text(encoding="utf-8"))
    ]


def _kept(ride: ComparedRide) -> dict[str, Any]:
    return {
        **{name: getattr(ride, name) for name in NAMES},
        "start": None if ride.start is None else ride.start.isoformat(),
        "answer": ride.answer.to_dict(),
        "beside": [(each.name, each.role, each.sha256) for each in ride.beside],
    }


def _write_json(path: Path, data: Any) -> None:
    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    path.write_text(f"{text}\n", encoding="utf-8")
