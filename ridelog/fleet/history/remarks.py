"""A remark on a bike: what stands out, since when, and the facts that say so."""

from collections.abc import Mapping
from dataclasses import field
from datetime import datetime

from ridelog.findings import NO_FACTS, Fact, Severity
from ridelog.lazy import dataclass

# Every code, gravest first, with its meaning. Scripts rely on them.
CODES: Mapping[str, str] = {
    "charge-cut-out": "the charge path opened while the bike was braked",
    "cell-overcharged": "charge went in while cells were above the voltage of a full cell",
    "charged-cold": "charge went into the battery while it was too cold for charging",
    "regen-lost": "the latest rides got next to nothing back, where the bike usually does",
    "regen-fading": "less is captured than before on the same hills, or on rides alike",
    "zero-drifting": "the current at rest moved",
    "resistance-rising": "the pack's resistance rose by more than its temperature explains",
    "wheel-size-off": "the wheel's speed and that of positions differ by more than positions may be wrong by",
    "below-others": "less is captured than by other bikes on the same hills under the same conditions",
    "not-enough-rides": "too few rides know what was recovered to judge the bike by",
}


@dataclass(frozen=True)
class StandsOut:
    """One remark on one bike.

    ``since`` : start of the first ride concerned, ``None`` where it has no wall time or where all rides are ·
    ``evidence`` : facts, the unit in the name; ``since_earliest`` and ``since_latest`` (ISO 8601) hold the true first
    ride with 95 %, where it had to be found
    """

    code: str
    severity: Severity
    since: datetime | None
    evidence: Mapping[str, Fact] = field(default=NO_FACTS)
