"""What files are called in a document: by as little as a reader needs, never by where they lay."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import PurePath

from ridelog.findings import Fact, Finding

AND = " + "  # between the parts of a recording that goes on in another file


def by_parts(path: str, called: Callable[[str], str]) -> str:
    """A path called otherwise, part by part where a recording goes on in another file.

    Parameters
    ----------
    path : of a recording
    called : what a path is called

    Returns
    -------
    "one.csv + two.csv".
    """
    return AND.join(map(called, path.split(AND)))


def short(path: str) -> str:
    """The name of a file without its folders; of one that goes on in another, both."""
    return by_parts(path, lambda part: PurePath(part).name)


def finding_called(finding: Finding, called: Callable[[str], str]) -> Finding:
    """A finding whose files are called otherwise.

    Parameters
    ----------
    finding : with paths among its facts
    called : what a text is called: a path its name, any other text as it is

    Returns
    -------
    New finding.
    """

    def told(fact: Fact) -> Fact:
        if isinstance(fact, tuple):
            return tuple(called(each) if isinstance(each, str) else each for each in fact)
        return called(fact) if isinstance(fact, str) else fact

    return replace(finding, facts={name: told(fact) for name, fact in finding.facts.items()})
