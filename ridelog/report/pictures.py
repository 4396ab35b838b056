"""Drawings as files: SVG as it is, PNG without a browser."""

from collections.abc import Iterable, Mapping

from ridelog.report.drawings.svg import Drawing
from ridelog.tell.refusals import documents as refusals

ZOOM = 3  # pixels a unit of the drawing: 2208 across a page, 300 an inch on 19 cm


def pictures(drawings: Iterable[Drawing]) -> Mapping[str, bytes]:
    """Each drawing as SVG and as PNG.

    Parameters
    ----------
    drawings : for pages

    Returns
    -------
    name of the file -> content

    Raises
    ------
    RidelogError : what turns SVG into pixels is not installed
    """
    files: dict[str, bytes] = {}
    for drawing in drawings:
        svg = drawing.file()
        files[f"{drawing.key}.svg"] = svg.encode()
        files[f"{drawing.key}.png"] = png_of(svg)
    return files


def png_of(svg: str) -> bytes:
    """An SVG as PNG.

    Parameters
    ----------
    svg : the drawing

    Returns
    -------
    The picture, `ZOOM` pixels a unit.

    Raises
    ------
    RidelogError : what turns SVG into pixels is not installed
    """
    try:
        import resvg_py
    except ImportError as error:
        raise refusals.no_pixels() from error
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=ZOOM))
