"""Equations of the method as typeset HTML, which browsers show and printers print alike."""

from html import escape
from itertools import takewhile

from ridelog.tell.documents.method import Equation


def equation(told: Equation) -> str:
    """One equation, with its words for who hears it.

    Parameters
    ----------
    told : in the notation of `ridelog.tell.documents.method`

    Returns
    -------
    HTML.
    """
    return f'<div class="equation" role="math" aria-label="{escape(told.spoken)}">{typeset(told.written)}</div>'


def typeset(written: str) -> str:
    """The notation as HTML: single letters slanted, words upright, what hangs below or above, and fractions."""
    out, at = [], 0
    while at < len(written):
        letter = written[at]
        if letter in "_^" and written[at + 1 : at + 2] == "{":
            inner, at = _braced(written, at + 1)
            tag = "sub" if letter == "_" else "sup"
            out.append(f"<{tag}>{typeset(inner)}</{tag}>")
        elif letter == "{":
            inner, at = _braced(written, at)
            over, _, under = inner.partition("//")
            out.append(f'<span class="frac"><span>{typeset(over)}</span><span>{typeset(under)}</span></span>')
        elif letter.isalpha():
            word = "".join(takewhile(str.isalpha, written[at:]))
            out.append(_word(word))
            at += len(word)
        else:
            out.append(escape(letter))
            at += 1
    return "".join(out)


def _word(word: str) -> str:
    """A quantity slanted; a word, or the name of a function, upright; Δ and d stand before a quantity."""
    if len(word) == 1:
        return word if word in "ΣΔ∫" else f"<i>{word}</i>"
    if len(word) == 2 and word[0] in "Δd":
        return f"{word[0]}<i>{word[1]}</i>"
    return word


def _braced(written: str, at: int) -> tuple[str, int]:
    """What stands between the brace at a place and its own end, and the place after it."""
    depth = 0
    for place in range(at, len(written)):
        depth += {"{": 1, "}": -1}.get(written[place], 0)
        if depth == 0:
            return written[at + 1 : place], place + 1
    raise ValueError(written)
