"""The document of a ride in the form that the name of its file asks for, and its figures as files of their own."""

from collections.abc import Mapping

from ridelog.answer.ride import Answer
from ridelog.report.drawings.ledger import ledger_drawing
from ridelog.report.drawings.power import power_drawing
from ridelog.report.drawings.profile import profile_drawing
from ridelog.report.drawings.track import track_drawing
from ridelog.report.exports import archive, manifest_of, tables
from ridelog.report.making import Making
from ridelog.report.pdf import pdf_of
from ridelog.report.pictures import pictures
from ridelog.report.ride.page import ride_page, without_places


def ride_document(answer: Answer, making: Making, form: str) -> bytes:
    """The document of a ride as a file.

    Parameters
    ----------
    answer : of the ride
    making : how it is to be made
    form : ".html", ".pdf" or ".zip"; a zip holds the HTML, its figures, every table and a manifest

    Returns
    -------
    Its content; the same input gives the same bytes.

    Raises
    ------
    RidelogError : a library that the form takes is missing
    """
    html = ride_page(answer, making)
    if form == ".html":
        return html.encode()
    if form == ".pdf":
        return pdf_of(html)
    figures = {f"figures/{name}": content for name, content in ride_figures(answer, making).items()}
    shown = answer if making.with_places else without_places(answer)
    return archive({"report.html": html.encode(), **figures}, tables(shown), manifest_of(shown, making))


def ride_figures(answer: Answer, making: Making) -> Mapping[str, bytes]:
    """The charts of a ride as SVG and PNG, those that there is anything to draw in.

    Parameters
    ----------
    answer : of the ride
    making : units, and whether the map may be drawn

    Returns
    -------
    name of the file -> content

    Raises
    ------
    RidelogError : a library that it takes is missing
    """
    shown = answer if making.with_places else without_places(answer)
    draw = (profile_drawing, power_drawing, track_drawing, ledger_drawing)
    drawings = [drawing for each in draw if (drawing := each(shown, making.style)) is not None]
    return pictures(drawings)
