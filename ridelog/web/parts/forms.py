"""Forms of pages that the server writes: native fields with their labels, and a token for whoever got them."""

from collections.abc import Iterable, Sequence

from ridelog.report.sheet import text


def form(action: str, token: str, parts: Iterable[str], *, label: str = "") -> str:
    """A form that starts or changes something.

    Parameters
    ----------
    action : address that takes it
    token : by which it is known to be one of this page's
    parts : HTML of its fields
    label : what it is, for who hears it

    Returns
    -------
    HTML.
    """
    named = f' aria-label="{text(label)}"' if label else ""
    body = "\n".join(part for part in parts if part)
    return f'<form class="asked" method="post" action="{text(action)}"{named}>\n{hidden(token)}\n{body}\n</form>'


def hidden(token: str) -> str:
    """The field by which a form is known to be one of this page's."""
    return f'<input type="hidden" name="token" value="{text(token)}">'


def button(words: str, name: str = "", value: str = "", *, plain: bool = False) -> str:
    """A button that sends its form.

    Parameters
    ----------
    words : on it
    name, value : that it sends besides
    plain : one that is not the point of its form

    Returns
    -------
    HTML.
    """
    sent = f' name="{text(name)}" value="{text(value)}"' if name else ""
    return f"<button{sent}{' class=plain' if plain else ''}>{text(words)}</button>"


def choice(key: str, label: str, options: Sequence[tuple[str, str]], chosen: str) -> str:
    """A list to choose from.

    Parameters
    ----------
    key : of the field
    label : beside it
    options : value and words of each
    chosen : value that is chosen now

    Returns
    -------
    HTML.
    """
    listed = options_of(options, chosen)
    return f'<label class="field"><span>{text(label)}</span><select name="{text(key)}">{listed}</select></label>'


def options_of(options: Sequence[tuple[str, str]], chosen: str) -> str:
    """What there is to choose from; the value ``chosen`` is chosen now."""
    return "".join(
        f'<option value="{text(value)}"{" selected" if value == chosen else ""}>{text(words)}</option>'
        for value, words in options
    )


def line(key: str, label: str, value: str, *, longest: int = 40, mode: str = "text") -> str:
    """A line to write in.

    Parameters
    ----------
    key : of the field
    label : above it
    value : that stands in it
    longest : letters that it takes
    mode : what is written: "text" or "decimal"

    Returns
    -------
    HTML.
    """
    return (
        f'<label class="field"><span>{text(label)}</span><input name="{text(key)}" value="{text(value)}" '
        f'maxlength="{longest}" inputmode="{mode}" autocomplete="off"></label>'
    )


def said(lines: Sequence[str]) -> str:
    """Why a form is there again; empty where it is not."""
    if not lines:
        return ""
    told = "".join(f"<p>{text(each)}</p>" for each in lines)
    return f'<div class="said" role="alert">{told}</div>'
