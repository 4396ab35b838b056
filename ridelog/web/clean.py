"""No letter of a visitor's file disturbs the page: controls and marks of direction are replaced wherever they are."""

from typing import Any

from ridelog.errors import printable_lines

# what a component shows or speaks; the last once a list is opened
TEXTS = ("children", "title", "aria-label", "label", "alt", "placeholder", "data-with")


def cleaned(part: Any) -> Any:
    """A component, or a list of them, with every text in it replaced by one that can only be read."""
    if isinstance(part, str):
        return printable_lines(part)
    if isinstance(part, (list, tuple)):
        return [cleaned(each) for each in part]
    for name in TEXTS:
        if (inner := getattr(part, name, None)) is not None:
            setattr(part, name, cleaned(inner))
    return part
