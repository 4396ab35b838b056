"""The document of a comparison in the form that its file's name asks for, and its figures as files of their own."""

from collections.abc import Mapping, Sequence

from ridelog.compare.groups import ComparedRide
from ridelog.compare.record import QUANTITIES, Comparison
from ridelog.report.comparison.charts import differences_drawing, rides_drawing_of, ways_drawing_of
from ridelog.report.comparison.page import comparison_page
from ridelog.report.exports import Manifest, archive, basis_tables, comparison_tables
from ridelog.report.making import Making
from ridelog.report.pdf import pdf_of
from ridelog.report.pictures import pictures
from ridelog.tell.documents import comparison as told
from ridelog.tell.documents.rests import files_of


def comparison_document(comparison: Comparison, making: Making, rides: Sequence[ComparedRide], form: str) -> bytes:
    """The document of a comparison as a file.

    Parameters
    ----------
    comparison : what was found
    making : how it is to be made
    rides : that were compared, for what they rest on
    form : ".html", ".pdf" or ".zip"; a zip holds the HTML, its figures, every table and a manifest

    Returns
    -------
    Its content; the same input gives the same bytes.

    Raises
    ------
    RidelogError : a library that the form takes is missing
    """
    html = comparison_page(comparison, making, rides)
    if form == ".html":
        return html.encode()
    if form == ".pdf":
        return pdf_of(html)
    figures = {f"figures/{name}": content for name, content in comparison_figures(comparison, making, rides).items()}
    inputs = [
        {"name": name, "role": f"{ride.group}: {ride.name}", "sha256": sha256}
        for ride in rides
        for name, sha256 in files_of(ride)
    ]
    inputs += [{"name": given.name, "role": given.role, "sha256": given.sha256} for given in making.given]
    manifest = Manifest(told.title(comparison), comparison.ridelog, making.command, tuple(inputs))
    held = comparison_tables(comparison) | basis_tables(rides)
    return archive({"report.html": html.encode(), **figures}, held, manifest)


def comparison_figures(
    comparison: Comparison, making: Making, rides: Sequence[ComparedRide] = ()
) -> Mapping[str, bytes]:
    """The charts of a comparison as SVG and PNG.

    Parameters
    ----------
    comparison : what was found
    making : units and separators, and whether positions may be shown
    rides : that were compared, for the map

    Returns
    -------
    name of the file -> content

    Raises
    ------
    RidelogError : a library that it takes is missing
    """
    drawn = [
        differences_drawing(comparison, making.style),
        *(rides_drawing_of(comparison, quantity, making.style) for quantity in QUANTITIES),
        ways_drawing_of(rides, making.style) if making.with_places else None,
    ]
    return pictures(drawing for drawing in drawn if drawing is not None)
