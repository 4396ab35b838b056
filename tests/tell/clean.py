"""What is wrong with the text of a finding, if anything."""

import json
import re

from ridelog.findings import Finding
from ridelog.tell.findings import sentence
from ridelog.tell.numbers import STYLES

_NUMBER = re.compile(r"(?<![\w.])\d+\.\d+(?![\w.])")
_WRONG = re.compile(r"\b(None|nan|inf|True|False)\b|[{}]|\['|  | [.,;:]|\.\.|,,|\( | \)|\(\)|–|[.,:;]\.")


def faults(text: str) -> list[str]:
    """Faults of a text for people: how it begins and ends, its spaces, and numbers that nobody rounded."""
    found = [] if text[:1].isupper() or text[:1].isdigit() or text[:1] == "-" else ["begins without a capital letter"]
    found += [] if text.endswith(".") and text == text.strip() else ["ends without a full stop"]
    found += [f"holds {match[0]!r}" for match in _WRONG.finditer(text)]
    long = [each for each in _NUMBER.findall(text) if len(each.replace(".", "").lstrip("0")) > 4]
    return [*found, *(f"shows {each}" for each in long)]


def _unnamed(text: str, finding: Finding) -> str:
    """The text with names and cells, which may be anything, put aside; short ones where they stand in quotes."""
    values = [each for fact in finding.facts.values() for each in (fact if isinstance(fact, tuple) else (fact,))]
    for name in sorted((each for each in values if isinstance(each, str) and each), key=len, reverse=True):
        quoted = rf"(?<=['\"“‘`]){re.escape(name)}(?=['\"”’`])"
        text = text.replace(name, "Name") if len(name) > 3 else re.sub(quoted, "Name", text)
    return text


def faults_of(finding: Finding) -> list[str]:
    """Faults of the sentence of a finding, in every style, and after its facts went through JSON."""
    facts = json.loads(json.dumps(dict(finding.facts), allow_nan=False))
    found = []
    for name, style in STYLES.items():
        text = sentence(finding, style)
        found += [f"{name}: {fault}: {text}" for fault in faults(_unnamed(text, finding))]
    same = {key: list(value) if isinstance(value, tuple) else value for key, value in finding.facts.items()}
    return found if facts == same else [*found, "its facts do not survive JSON"]
