"""The method in about a page: what each number is, by which equation, and on whose authority.

An equation is written as people write it on a keyboard: ``a_{b}`` and ``a^{b}`` hang a word below or above, ``{a//b}``
is a fraction; single letters are quantities, longer words are words.
"""

from ridelog.answer.ride import Answer
from ridelog.lazy import dataclass

TITLE = "Method"
LEAD = (
    "In short; the whole method, with every threshold and how often the intervals hold the truth in simulated and "
    "measured rides, is in the documentation of ridelog. Current and power are positive out of the battery."
)


@dataclass(frozen=True)
class Equation:
    """``written`` : in the notation above · ``spoken`` : the same in words, for who hears it"""

    written: str
    spoken: str


@dataclass(frozen=True)
class Step:
    """One step of the method: sentences, equations, and the numbers of its sources in `sources`."""

    title: str
    told: str
    equations: tuple[Equation, ...] = ()
    sources: tuple[str, ...] = ()


GUM = "JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM)."
GUM_1 = "JCGM 101:2008, Supplement 1 to the GUM: propagation of distributions using a Monte Carlo method."
COUNTING = (
    "M. Movassagh, A. Raihan, B. Balasingam, K. Pattipati, “A critical look at coulomb counting approach for state of "
    "charge estimation in batteries”, Energies 14 (2021) 4074."
)
ROAD = (
    "J. C. Martin, D. L. Milliken, J. E. Cobb, K. L. McFadden, A. R. Coggan, “Validation of a mathematical model for "
    "road cycling power”, J. Appl. Biomech. 14 (1998) 276–291."
)
AIR = "ISO 2533:1975, Standard atmosphere."
EARTH = "C. F. F. Karney, “Algorithms for geodesics”, J. Geodesy 87 (2013) 43–55."
LOAD = "S. Tengattini, thesis, University of Bologna 2017 (drag area and rolling resistance of 557 utility cyclists)."
CUTS = "B. Jackson et al., IEEE Signal Process. Lett. 12 (2005) 105–108 (optimal partitioning)."
DRAWS = "P. Fearnhead, Stat. Comput. 16 (2006) 203–213 (drawing from all ways to cut a sequence; from memory)."

FLOW = Step(
    "Drawn and returned",
    "Sums over the electrical log's own samples, before any other file is looked at; its zero error is taken off "
    "first. Energy is the same sum over power, sample by sample. Longer gaps count as no current, and the intervals "
    "allow for it.",
    (
        Equation(
            "Q_{drawn} = Σ_{k} {1//2} [max(i_{k}, 0) + max(i_{k+1}, 0)] Δt_{k}",
            "charge drawn is the sum over samples k of half of the positive parts of current k and current k plus 1, "
            "times the step",
        ),
        Equation(
            "Q_{returned} = Σ_{k} {1//2} [max(−i_{k}, 0) + max(−i_{k+1}, 0)] Δt_{k}",
            "charge returned is the same sum over the negative parts of the current",
        ),
        Equation("recovered = 100 {returned//drawn}", "recovered, in per cent, is 100 times returned over drawn"),
    ),
    (COUNTING,),
)
UNCERTAINTY = Step(
    "Intervals",
    "A reading x of the current i has a gain g, an extra gain a while charging, a zero error b, and noise. A limit L "
    "of an error is the half-width of a rectangular distribution. Thousands of trials draw all errors at once, what "
    "parts of the ride share is drawn once for all of them, and the interval runs from the 2.5 % to the 97.5 % "
    "quantile.",
    (
        Equation(
            "x = g (1 + a [i < 0]) i + b + noise", "the reading is gain times current, plus zero error, plus noise"
        ),
        Equation("u(L) = {L//√3}", "the standard uncertainty of a limit L is L over the root of 3"),
    ),
    (GUM, GUM_1),
)
MOTION = Step(
    "Road load and braking",
    "Speed comes from one source for the whole ride, heights are laid over distance and smoothed. Braking is what "
    "neither air, rolling nor grade explains; an event begins where it passes a threshold, or where current flows "
    "into the battery. Defaults of drag area and rolling resistance are those of utility cyclists measured on the "
    "road.",
    (
        Equation(
            "m_{e} {dv//dt} = F_{drive} − F_{brake} − {1//2} ρ C_{d}A v_{a} |v_{a}| − C_{rr} m g cos θ − m g sin θ",
            "effective mass times acceleration is the driving force less the braking force, less half the air density "
            "times drag area times air speed squared, less rolling resistance, less the weight's part along the slope",
        ),
    ),
    (ROAD, AIR, EARTH, LOAD),
)
HILLS = Step(
    "Hills",
    "A hill climbs or falls by 5 m or more at 2 % or more on average, as a rider would name it: it ends where the "
    "road turns the other way by 2 m, or runs level for 150 m. Many likely roads are drawn under the errors of the "
    "heights; a hill is one that three in five of them have.",
    (),
    (CUTS, DRAWS),
)
CAPTURED = Step(
    "Available and captured",
    "Available is what an event lost in speed and height, less what air and rolling resistance took. No more than 97 "
    "% of it can have reached the battery; trials beyond that are left out.",
    (
        Equation(
            "E_{available} = {1//2} m_{e} (v_{0}^{2} − v_{1}^{2}) + m g (h_{0} − h_{1}) − ∫ ({1//2} ρ C_{d}A v_{a} "
            "|v_{a}| + C_{rr} m g cos θ) v dt",
            "available energy is the kinetic and potential energy lost, less the work of air and rolling resistance",
        ),
        Equation("captured = 100 {returned//available}", "captured, in per cent, is 100 times returned over available"),
    ),
    (GUM_1,),
)
LEDGER = Step(
    "Where the energy went",
    "Each term by its own integral; what is left over is unexplained: losses of motor and controller, standby, and "
    "the rider's work where that was not logged.",
    (
        Equation(
            "drawn + rider = returned + height + speed + air + rolling + drag + brakes + charging losses + unexplained",
            "drawn plus rider is returned plus height, speed, air, rolling, motor drag, brakes, charging losses and "
            "the unexplained",
        ),
    ),
    (ROAD,),
)
WORTH = Step(
    "Is it worth it",
    "Against the same ride with a drive that freewheels: what came back is worth what the battery gives back of it, "
    "less the drag of the motor over the share φ of the way on which it costs energy.",
    (
        Equation(
            "net = η_{battery} E_{returned} − {F_{drag} φ s//η_{motor}}",
            "net gain is the battery's efficiency times the returned energy, less drag times share times distance over "
            "the drive's efficiency",
        ),
    ),
)
PACK = Step(
    "Battery",
    "Resistance is the slope of voltage on current over a second, with weights against outliers. Cells and currents "
    "are stated against the limits that were entered; the limits are those of the pack's maker.",
    (Equation("R = −{dV//dI}", "resistance is minus the change of voltage over the change of current"),),
)


def steps(answer: Answer) -> list[Step]:
    """The steps that the answer's numbers went through, in order."""
    braked = answer.braking.available_wh is not None
    return [
        FLOW,
        UNCERTAINTY,
        *([MOTION] if braked or answer.hills else []),
        *([HILLS] if answer.hills else []),
        *([CAPTURED] if braked else []),
        *([LEDGER] if answer.ledger is not None else []),
        *([WORTH] if answer.worth is not None else []),
        *([PACK] if answer.pack.resistance_ohm is not None else []),
    ]


def sources(told: list[Step]) -> list[str]:
    """The sources of some steps, each once, in the order in which they are first used."""
    return list(dict.fromkeys(source for step in told for source in step.sources))
