"""The sentence of a finding: exactly one template a code, made from the finding's facts alone."""

from collections.abc import Mapping

from ridelog.findings import Finding
from ridelog.tell.findings import braking, clocks, coastdown, comparison, files, log, motion, pack, signs
from ridelog.tell.findings.words import Stated, Template
from ridelog.tell.numbers import METRIC, Style

__all__ = ["FAMILIES", "TEMPLATES", "sentence"]

FAMILIES: tuple[Mapping[str, Template], ...] = (
    log.TEMPLATES,
    braking.TEMPLATES,
    pack.TEMPLATES,
    coastdown.TEMPLATES,
    motion.TEMPLATES,
    clocks.TEMPLATES,
    files.TEMPLATES,
    signs.TEMPLATES,
    comparison.TEMPLATES,
)
TEMPLATES: Mapping[str, Template] = {code: template for family in FAMILIES for code, template in family.items()}


def sentence(finding: Finding, style: Style = METRIC) -> str:
    """What a finding says, for a rider.

    Parameters
    ----------
    finding : with every fact that the template of its code needs
    style : units, digits and signs

    Returns
    -------
    text : one sentence, or a few

    Raises
    ------
    LookupError : a fact is missing, or names a case that has no words
    TypeError : a fact is of another kind than the template needs
    """
    return TEMPLATES[finding.code](Stated(finding.code, finding.facts), style)
