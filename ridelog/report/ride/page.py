"""The document of one ride, as one HTML file: the same answer gives the same bytes."""

from collections.abc import Mapping
from dataclasses import replace

from ridelog.answer.ride import Answer
from ridelog.report.making import PAPERS, Making
from ridelog.report.parts import contents, drawn
from ridelog.report.ride.basis import back, rests_on
from ridelog.report.ride.front import front
from ridelog.report.ride.numbers import numbers
from ridelog.report.sheet import sheet
from ridelog.tell.documents import ride as told
from ridelog.tell.documents.names import by_parts, finding_called

POSITIONS = ("latitude_deg", "longitude_deg", "east_m", "north_m")


def ride_page(answer: Answer, making: Making | None = None) -> str:
    """The document of a ride as one HTML file, without scripts and without anything fetched.

    Parameters
    ----------
    answer : of the ride, with its series where charts are wanted
    making : how it is to be made; metric, with a map and without a command by default

    Returns
    -------
    HTML; the same answer and the same ``making`` give the same bytes.
    """
    making = making or Making()
    shown = answer if making.with_places else without_places(answer)
    listed = [rests_on(shown, making), *numbers(shown, making), *back(shown, making)]
    sections = [each for each in listed if each is not None]
    parts = [front(shown, making), contents(sections, told.CONTENTS), *map(drawn, sections)]
    return sheet(told.title(shown), parts, paper=PAPERS[making.paper])


def without_places(answer: Answer) -> Answer:
    """The answer without anything that tells where it was: no position, no time zone, no map."""
    return replace(
        answer,
        ride=replace(answer.ride, time_zone=None),
        hills=tuple(replace(hill, start=None, end=None) for hill in answer.hills),
        series=answer.series.drop(columns=[name for name in POSITIONS if name in answer.series]),
    )


def renamed(answer: Answer, names: Mapping[str, str]) -> Answer:
    """The answer with its files called otherwise, in findings too, also where they lie in an archive or go on.

    Parameters
    ----------
    answer : of a ride
    names : path as it was given -> name

    Returns
    -------
    New answer.
    """

    def called(path: str) -> str:
        given = next((each for each in names if path == each or path.startswith(f"{each}/")), None)
        return path if given is None else names[given] + path[len(given) :]

    sources = tuple(replace(source, path=by_parts(source.path, called)) for source in answer.sources)
    found = tuple(finding_called(each, lambda text: by_parts(text, called)) for each in answer.findings)
    return replace(answer, sources=sources, findings=found)
