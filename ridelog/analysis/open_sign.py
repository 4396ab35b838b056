"""What is left of an answer where nothing shows which way the current flows: drawn and returned may be each other.

The amounts that flowed either way stay, as they were read. Whatever needs to know which is which is not known: shares,
what is missed, use per kilometre, what the battery took in, and all that is worked out from these.
"""

from collections.abc import Sequence
from dataclasses import replace

from ridelog.answer.braking import Braking
from ridelog.answer.hills import Hill
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, Charge, Energy
from ridelog.answer.shared_errors import SharedErrors
from ridelog.findings import Finding

# Findings that compare what came back with something, and so take the sign for known.
TAKE_IT_FOR_KNOWN = frozenset(
    {
        "recovered-unusually-high", "charge-without-braking", "captured-beyond-available", "height-still",
        "regen-fades", "regen-limited", "start-charge",
    }
)  # fmt: skip


def sign_open(findings: Sequence[Finding]) -> bool:
    """Whether nothing shows the sign of the current."""
    return any(finding.code == "sign-open" for finding in findings)


def without_shares(answer: Answer) -> Answer:
    """The answer without what needs the sign of the current, which nothing shows."""
    return replace(
        answer,
        charge=Charge(answer.charge.drawn_ah, answer.charge.returned_ah, None),
        energy=Energy(answer.energy.drawn_wh, answer.energy.returned_wh, None, None, None),
        braking=_braking(answer.braking),
        hills=tuple(map(_hill, answer.hills)),
        hill_pairs=tuple(replace(pair, recovered_pct=None) for pair in answer.hill_pairs),
        pack=_pack(answer.pack),
        findings=tuple(finding for finding in answer.findings if finding.code not in TAKE_IT_FOR_KNOWN),
        ledger=None,
        speed_bands=(),
        budget=(),
        worth=None,
        shared_errors=SharedErrors(),
    )


def _braking(braking: Braking) -> Braking:
    return replace(
        braking,
        captured_pct=None,
        events=tuple(replace(event, captured_pct=None) for event in braking.events),
        kinds=tuple(replace(kind, captured_pct=None, missed_wh=None) for kind in braking.kinds),
    )


def _hill(hill: Hill) -> Hill:
    return replace(hill, recovered_pct=None, captured_pct=None, share_of_returned_pct=None)


def _pack(pack: Pack) -> Pack:
    return replace(pack, highest_charge_a=None, start_charge_headroom_ah=None)
