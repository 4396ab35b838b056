"""What the page says while something is made that takes longer than a look, and of what came of it."""

from ridelog.tell.numbers import counted, fixed, with_unit

CANCEL, AGAIN, BACK = "Cancel", "Make it once more", "Change what was chosen"
NOTHING_HERE = "Nothing here"
CANCELLED = "You cancelled this; nothing was made."
KEEP_OPEN = (
    "This page looks again by itself, and its address stays. What nobody waits for is given up after a minute, and "
    "begun again when you come back."
)
SEE, TAKE = "Read it here", "Take it away"
MADE_OTHERWISE = "Not every form could be made:"
FORMS = {
    ".html": "HTML, one file",
    ".pdf": "PDF, to print",
    ".zip": "zip, with every table",
    ".json": "JSON, everything",
    ".csv": "CSV",
}
SIZES = (("MB", 1e6), ("kB", 1e3))


def waiting(n_ahead: int) -> str:
    """Work whose turn has not come; ``n_ahead`` : how much of others comes first."""
    return "Waiting: yours is next …" if n_ahead == 0 else f"Waiting behind {counted(n_ahead, 'other')} …"


def far(stage: str, done: int, of: int) -> str:
    """How far work is.

    Parameters
    ----------
    stage : what is done now
    done, of : how many of how many

    Returns
    -------
    A sentence.
    """
    if stage == "measuring" and of:
        return f"Measuring: {done} of {counted(of, 'ride')} done …"
    return {
        "reading": "Looking into the files …",
        "measuring": "Reading and measuring …",
        "comparing": "Comparing …",
        "writing": f"Writing the documents: {done} of {of} done …",
    }.get(stage, "Beginning …")


def form(name: str) -> str:
    """What a file is, by its name: "PDF, to print"; of several tables also which."""
    stem, dot, ending = name.rpartition(".")
    said = FORMS.get(f"{dot}{ending}", ending)
    return f"{stem}, {said}" if ending == "csv" else said


def size(size_bytes: int) -> str:
    """How large a file is."""
    for unit, factor in SIZES:
        if size_bytes >= factor:
            return with_unit(fixed(size_bytes / factor, 1 if size_bytes < 10 * factor else 0), unit)
    return counted(size_bytes, "byte")
