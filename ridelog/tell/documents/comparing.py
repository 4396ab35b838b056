"""The method of a comparison in about a page, as `ridelog.tell.documents.method` has that of a ride."""

from ridelog.compare.record import Comparison
from ridelog.tell.documents.method import GUM, GUM_1, ROAD, Equation, Step

STUDENT = "Student, “The probable error of a mean”, Biometrika 6 (1908) 1–25 (from memory)."
WELCH_1947 = (
    "B. L. Welch, “The generalization of Student's problem when several different population variances are involved”, "
    "Biometrika 34 (1947) 28–35 (from memory)."
)
HOLM = (
    "S. Holm, “A simple sequentially rejective multiple test procedure”, Scand. J. Statist. 6 (1979) 65–70 "
    "(from memory)."
)
MIXED = (
    "N. M. Laird, J. H. Ware, “Random-effects models for longitudinal data”, Biometrics 38 (1982) 963–974 "
    "(from memory)."
)
PRECISE = "ISO 5725-2:2019 and ISO 5725-6:1994, Accuracy (trueness and precision) of measurement methods and results."
AGREE = (
    "J. M. Bland, D. G. Altman, “Statistical methods for assessing agreement between two methods of clinical "
    "measurement”, Lancet 327 (1986) 307–310."
)

PAIRS = Step(
    "Pairs of rides",
    "Rides of two groups on one route are paired with their neighbours in time, each ride once, so that weather and "
    "habit move both alike. The mean of the differences of n pairs has the spread s of these differences.",
    (
        Equation(
            "D = d_{mean} ± t {s//√n}",
            "the difference is the mean of the pairs, plus or minus t times s over the root of n",
        ),
    ),
    (STUDENT,),
)
WHOLE = Step(
    "Whole groups",
    "Where rides have no partners, the means of both groups are compared, each with a spread of its own.",
    (
        Equation(
            "u^{2} = {s_{1}^{2}//n_{1}} + {s_{2}^{2}//n_{2}}",
            "the variance of the difference is the variance of the first group over its rides, plus that of the second",
        ),
    ),
    (WELCH_1947,),
)
HILLS = Step(
    "Hill by hill",
    "On hills that both groups rode, each pass of ride i on hill j has the hill's own mean, and hills of one ride "
    "belong together. Where every ride has every hill once, this is Student's t of the rides' means.",
    (
        Equation(
            "y_{i,j} = β_{j} + δ g_{i} + b_{i} + ε_{i,j}",
            "a pass is the mean of its hill, plus the difference between groups, plus what is the ride's, plus the "
            "rest",
        ),
    ),
    (MIXED,),
)
SHARED = Step(
    "What rides share",
    "One logger's zero and gains, one bike's mass, drag area and rolling resistance, and one road's heights and the "
    "wind that was entered for it, are off by the same on all their rides. How far each moves each number is known "
    "from the trials of the ride; what moves both groups alike cancels, and the rest is added to the distribution of "
    "the difference, for no number of rides takes it away.",
    (
        Equation(
            "D = t-part + Σ_{c} (e_{c,second} − e_{c,first}) ξ_{c}",
            "the difference is the part from rides, plus for each shared cause its mean effect on the second group "
            "less that on the first, times a rectangular error of unit standard deviation",
        ),
    ),
    (GUM, GUM_1),
)
VERDICT = Step(
    "Verdicts",
    "A verdict follows from the interval, never from the point. Quantities and pairs of groups that are looked at "
    "together are held to one error rate of 5 % by Holm's steps: the clearest difference at 5 % over their number, "
    "the next at 5 % over one less.",
    (),
    (HOLM,),
)
CORRECTED = Step(
    "At common conditions",
    "Where groups differ in speed, mass or air, each ride is restated at the conditions that they have in common by "
    "the road load: v, m and T of the ride become those in common, v₀, m₀ and T₀. Seven things no log tells: whether a "
    "limit of the current held back what returned, how even descents are, how much friction brakes helped on them, how "
    "hard legs would have worked, how efficient the drive is, what its loss goes with, and how much of a descent "
    "beside the braking was braking's. Each lies between two ends, the middle is taken, and half of what lies between "
    "is a shared error. Both figures are given, and which is which is said.",
    (
        Equation(
            "air′ = air (v_{0} / v)^{2} (T + 273.15) / (T_{0} + 273.15)",
            "air at common conditions is air times the square of the common speed over the ride's, times the ride's "
            "temperature over the common one, both absolute",
        ),
        Equation(
            "kinetic′ = kinetic (v_{0} / v)^{2} m_{0} / m, rolling′ = rolling m_{0} / m, height′ = height m_{0} / m",
            "kinetic energy goes with the square of the speed and with mass, rolling and height with mass",
        ),
    ),
    (ROAD, GUM),
)
PRECISION = Step(
    "Repeatability",
    "s with the index r is the spread of rides of one logger on one route; two of them differ by more than r once in "
    "20 times.",
    (Equation("r = 2.8 s_{r}", "the repeatability limit is 2.8 times the repeatability standard deviation"),),
    (PRECISE,),
)
AGREEMENT = Step(
    "Limits of agreement",
    "Of 100 rides that two loggers logged, the difference of the two lies between the limits 95 times.",
    (Equation("limits = mean ± 1.96 s", "the limits are the mean difference plus or minus 1.96 standard deviations"),),
    (AGREE,),
)


def steps(told: Comparison) -> list[Step]:
    """The steps that the comparison's numbers went through, in order."""
    paired = {each.paired_by for each in told.differences}
    return [
        *([PAIRS] if "route" in paired else []),
        *([WHOLE] if "none" in paired else []),
        *([HILLS] if "hill" in paired else []),
        SHARED,
        VERDICT,
        *([CORRECTED] if any(each.corrected for each in told.differences) else []),
        *([PRECISION] if any(of is not None for each in told.groups for of in each.precision.values()) else []),
        *([AGREEMENT] if told.loggers else []),
    ]
