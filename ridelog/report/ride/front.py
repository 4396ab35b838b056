"""The first page: what the ride is, the answer in a sentence, and its numbers."""

from collections.abc import Iterable

from ridelog.answer.ride import Answer
from ridelog.findings import said_first
from ridelog.report.making import Making
from ridelog.report.parts import findings, paragraph
from ridelog.report.sheet import text
from ridelog.tell import page
from ridelog.tell.documents import ride as told
from ridelog.tell.findings import sentence as finding_sentence
from ridelog.tell.numbers import Style, fixed, measured
from ridelog.tell.ride import NO_FLOW, Headline, headline, hill_sentence


def front(answer: Answer, making: Making) -> str:
    """The head of the document.

    Parameters
    ----------
    answer : of the ride
    making : how it is to be made

    Returns
    -------
    HTML.
    """
    style, head = making.style, headline(answer, making.style)
    grave = [each for each in answer.findings if each.severity == "danger"]
    first = [each for each in answer.findings if each.severity == "warning" and said_first(each)]
    return "\n".join(
        part
        for part in (
            f'<header>\n<p class="dateline">{" · ".join(map(text, told.dateline(answer, making.dated)))}</p>',
            f"<h1>{_answer(head)}</h1>",
            _balance(answer, head),
            paragraph(hill_sentence(answer, style) if head.share else _why(head, style), "lead"),
            "</header>",
            findings([each for each in (*grave, *first) if each != head.finding], style),
            _figures(answer, style),
            paragraph(told.INTERVALS, "soft"),
        )
        if part
    )


def _answer(head: Headline) -> str:
    if not head.share:
        return f"{text(head.drawn)} was drawn. {text(head.reason or '')}" if head.drawn else text(head.reason or "")
    within = f' <span class="interval">({text(head.interval)})</span>' if head.interval else ""
    drawn, returned = (
        f'<b class="{name}">{text(words or "")}</b>'
        for name, words in (("drawn", head.drawn), ("returned", head.returned))
    )
    return f"Of {drawn} drawn, {returned} came back: <strong>{text(head.share)}</strong>{within}{text(head.but)}."


def _why(head: Headline, style: Style) -> str:
    """What explains that there is no share, where it says more than the reason does."""
    why = head.finding
    return "" if why is None or why.code == NO_FLOW else finding_sentence(why, style)


def _balance(answer: Answer, head: Headline) -> str:
    """A bar as long as what was drawn, of which the end came back."""
    share = answer.energy.recovered_pct or answer.charge.recovered_pct
    if head.share is None or share is None:
        return ""
    label = text(page.balance(head.drawn or "", head.share))
    width = fixed(min(max(share.value, 0.0), 100.0), 2)
    return f'<div class="balance" role="img" aria-label="{label}"><i style="width:{width}%"></i></div>'


def _figures(answer: Answer, style: Style) -> str:
    return f'<dl class="figures">{"".join(_tiles(told.figures(answer, style), style))}</dl>'


def _tiles(figures: Iterable[told.Figure], style: Style) -> Iterable[str]:
    for key, name, quantity, kind, note in figures:
        value, _, within = measured(quantity, kind, style).partition(" (")
        interval = f"<small>{text(within.rstrip(')'))}</small>" if within else ""
        below = f"<small>{text(note)}</small>" if note else ""
        yield (
            f'<div><dt>{text(name)}</dt><dd data-key="{key}"><span class="value">{text(value)}</span>{interval}{below}'
            "</dd></div>"
        )
