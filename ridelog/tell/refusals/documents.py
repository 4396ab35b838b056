"""Documents that cannot be made."""

from ridelog.errors import RidelogError

_LAYOUT = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"  # on Debian and its kin


def no_layout() -> RidelogError:
    """What lays out PDF is not installed."""
    return RidelogError(
        "a PDF takes WeasyPrint, which is not installed", hint="pip install weasyprint; or end it in .html"
    )


def no_layout_libraries() -> RidelogError:
    """The libraries of the system that lay out PDF are missing."""
    what = "a PDF takes the libraries Pango and HarfBuzz, which this computer does not have"
    return RidelogError(what, hint=f"on Debian: {_LAYOUT}; or end it in .html, and print that from a browser")


def no_pixels() -> RidelogError:
    """What turns drawings into pixels is not installed."""
    return RidelogError("PNG pictures take resvg-py, which is not installed", hint="pip install resvg-py")
