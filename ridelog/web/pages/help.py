"""Help: words, the method in short with its equations, and cautions."""

from flask import Flask

from ridelog.report.parts import contents, drawn, paragraph, section
from ridelog.report.ride.basis import method_section, step_key
from ridelog.report.sheet import sentence, text
from ridelog.tell.documents import ride as ride_words
from ridelog.tell.pages import help as words
from ridelog.web.ids import HELP_PATH
from ridelog.web.pages.asked.desk import Desk
from ridelog.web.pages.frame import framed


def add_help(server: Flask, desk: Desk) -> None:
    """Add the page of help to the server, which needs nothing of the desk."""
    del desk
    server.add_url_rule(HELP_PATH, "help", help_page)


def help_page() -> str:
    """The page of help."""
    sections = [
        section("begin", words.BEGIN, _listed(words.STEPS, "ol")),
        section("words", words.WORDS_TITLE, _words()),
        section("cautions", words.CAUTIONS_TITLE, _listed(words.CAUTIONS, "ul")),
        method_section(words.steps()),
    ]
    there = [each for each in sections if each is not None]
    parts = [
        f'<h1>{text(words.TITLE)}</h1><p class="lead">{text(words.LEAD)}</p>',
        contents(there, ride_words.CONTENTS),
        *map(drawn, there),
        paragraph(words.IN_FULL, "soft"),
    ]
    return framed(words.TITLE, parts, HELP_PATH)


def _listed(lines: tuple[str, ...], kind: str) -> str:
    return f"<{kind}>{''.join(f'<li>{sentence(each)}</li>' for each in lines)}</{kind}>"


def _words() -> str:
    told = "".join(
        f"<div><dt>{text(word)}</dt><dd>{text(said)}{_way(step)}</dd></div>" for word, said, step in words.WORDS
    )
    return f'<dl class="facts">{told}</dl>'


def _way(step: str) -> str:
    """The way to the step of the method that works a word out."""
    return f' <a href="#{step_key(step)}">{text(words.SEE_METHOD)}</a>' if step else ""
