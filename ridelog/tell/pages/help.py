"""The page of help: each word as it is used, the method in short, and what to be careful of."""

from ridelog.tell.documents import comparing, method
from ridelog.tell.documents.method import Step

TITLE = "Help"
LEAD = "What the words mean, how the numbers come about, and what to be careful of."
BEGIN, WORDS_TITLE, CAUTIONS_TITLE = "How to begin", "Words", "Cautions"
SEE_METHOD = "how it is worked out"
IN_FULL = (
    "In full, with every threshold and how often the intervals hold the truth: `docs/method.md`; comparing and "
    "planning: `docs/compare.md`; files and columns: `docs/files.md`; the bike file: `docs/bike.md`; every remark "
    "under an answer: `docs/findings.md`. They lie beside the program."
)
STEPS = (
    "Drop the log of the controller or battery, and a track, anywhere on the page `Measure`. What belongs together is "
    "put together by its times; a folder of several bikes, each with its bike file, makes the rides of each.",
    "Look at how the columns were read, and correct what is wrong by choosing from the lists.",
    "Enter the mass of bike, rider and load, and what else you know of the bike: intervals shrink by what is known.",
    "Compare rides under two settings on `Compare`; let `Plan` say how many rides that takes.",
    "Take it away: a report of a ride or of a comparison as PDF, HTML or a zip of every table.",
)
# word, what it means, title of the step of the method that works it out
WORDS: tuple[tuple[str, str, str], ...] = (
    ("Recording", "One file of one device, on its own clock.", ""),
    ("Ride", "The recordings of one outing on one bike, their clocks joined.", ""),
    (
        "Drawn",
        "Charge (Ah) or energy (Wh) that left the battery at its terminals.",
        method.FLOW.title,
    ),
    (
        "Returned",
        "Charge or energy that went back into the battery at its terminals, as a positive number.",
        method.FLOW.title,
    ),
    (
        "Recovered",
        "100 × returned / drawn, in per cent. Where nothing was drawn, or where the log cannot show a return, it is "
        "not known, which is not 0.",
        method.FLOW.title,
    ),
    ("Net", "Drawn less returned; for each kilometre, what the ride used.", method.FLOW.title),
    (
        "Braking event",
        "A time in which the bike was slowed, or held back on a descent, by more than air, rolling and grade would do "
        "alone: a stop, a slowing, or holding.",
        method.MOTION.title,
    ),
    (
        "Available",
        "The energy that a braking event offered at the wheel: what was lost in speed and height, less what air and "
        "rolling took.",
        method.CAPTURED.title,
    ),
    ("Captured", "100 × returned / available, of an event, a hill or a ride.", method.CAPTURED.title),
    ("Missed", "What was available at the wheel and did not reach the battery.", method.CAPTURED.title),
    (
        "Hill",
        "A stretch that climbs or falls by 5 m or more at 2 % or more on average. A ride goes up it or down it.",
        method.HILLS.title,
    ),
    (
        "95 % interval",
        "The range that holds the true value 95 times of 100, by everything that is known of the errors of logger, "
        "track and bike: 6.2 (5.8 to 6.7) %. Without one, too little is known to say.",
        method.UNCERTAINTY.title,
    ),
    (
        "Entered, measured, assumed",
        "Where a value of the bike comes from: from you, from the ride itself, or from what is usual, with a wide "
        "interval.",
        "",
    ),
    ("Finding", "What to know before a number is believed or used: a note, a warning, or a danger.", ""),
    ("Ledger", "Where the energy of a ride or hill went, each part by its own sum.", method.LEDGER.title),
    ("Headroom", "The charge that had to be free in the pack at the start, for all that came back to fit.", ""),
    ("Group", "Rides under one set-up: a setting of regen, a bike, a tyre.", ""),
    (
        "Paired",
        "Rides of two groups on one route, neighbours in time, are held against each other one by one.",
        comparing.PAIRS.title,
    ),
    (
        "Told, not told",
        "A difference is told where its whole interval lies on one side of zero, stricter where several are looked at "
        "together. Not told does not mean that there is none.",
        comparing.VERDICT.title,
    ),
    (
        "Smallest told, rides to settle it",
        "What these rides would have shown, and how many more would show a difference worth knowing 80 times of 100.",
        comparing.VERDICT.title,
    ),
    (
        "Corrected",
        "Rides restated at conditions that the groups have in common, by the road load; the figure as ridden stands "
        "beside it.",
        comparing.CORRECTED.title,
    ),
    ("Repeatability", "How far two rides of one logger on one route differ.", comparing.PRECISION.title),
)
CAUTIONS = (
    "A number here says what was logged. It does not say that anything is safe.",
    "Limits of cells, currents and temperatures are those that you enter; the limits of the makers of battery, "
    "controller and bike hold, whatever a ride shows. Do not raise one to get more back, and do not bypass or adjust a "
    "battery's electronics (BMS).",
    "Regenerative braking fades at low speed, cannot hold a bike at rest, and can stop without warning when the "
    "battery is full or cold or its electronics cut out. It never replaces two independent friction brakes.",
    "Do not start a long descent with a full battery.",
    "Ride test rides as traffic, the road and local rules allow, not as a plan wants it.",
    "Any work on battery, controller, motor or brakes is for a qualified technician.",
    "If a battery swells, gets hot, smells or smokes: stop, move away from it, call the emergency services.",
)


def steps() -> list[Step]:
    """The method, of a ride and then of a comparison."""
    of_ride = [
        method.FLOW, method.UNCERTAINTY, method.MOTION, method.HILLS, method.CAPTURED, method.LEDGER, method.WORTH,
        method.PACK,
    ]  # fmt: skip
    of_groups = [
        comparing.PAIRS, comparing.WHOLE, comparing.HILLS, comparing.SHARED, comparing.VERDICT, comparing.CORRECTED,
        comparing.PRECISION, comparing.AGREEMENT,
    ]  # fmt: skip
    return [*of_ride, *of_groups]
