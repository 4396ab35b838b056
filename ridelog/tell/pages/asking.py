"""What stands in the forms that ask for a report, a comparison or a plan."""

from ridelog.tell.numbers import counted

REPORT_TITLE = "A report to hand over"
REPORT_LEAD = (
    "One document of this ride for somebody who was not there: the answer with its interval, what was measured and "
    "what was assumed, the method with its sources, every file with its SHA-256, and the command that makes it again."
)
REPORT_LINK = "a report: HTML, PDF, zip"
MAKE_REPORT, MAKE_COMPARISON, MAKE_PLAN = "Make the report", "Compare", "Make the plan"

PLAN_MORE = "Plan how many more rides it takes"
COMPARE_TITLE = "Compare rides"
COMPARE_LEAD = (
    "Put rides into groups, one for each setting, bike or tyre. They are paired by route and by hill; a verdict is "
    "given only where the interval supports it."
)
PLAN_TITLE = "Plan test rides"
PLAN_LEAD = (
    "From rides of the route so far: how many more, in which order, would settle a difference of the recovered share, "
    "and what to keep the same, log and write down. One page to print."
)
DIFFERENCE = "Smallest difference worth knowing, in percentage points"
GROUP_LEAD = (
    "Name each group that you need, such as “weak” and “strong”; then choose its letter beside each of its rides."
)
GROUPS, GROUP_NAME, RIDES = "Groups", "Name of group {letter}", "Rides"
LETTERS = ("A", "B", "C", "D")
NONE = "none"
SAMPLE = "Or try it with the sample campaign (invented): twelve rides, weak against strong regen"
NO_RIDES = "There is no ride to choose yet."
GIVE_FILES = "Give the files of your rides"
YOURS, CAMPAIGN, STORE = "yours", "sample campaign", "store"
HEADS = ("Ride", "Begins", "Recovered", "Bike", "From")
UNITS, NUMBERS, PAPER, PLACES = "Units", "Decimal sign", "Paper", "Places"
CHOICES = {
    "units": (("metric", "km, m"), ("imperial", "mi, ft")),
    "numbers": (("point", "6.2"), ("comma", "6,2")),
    "paper": (("a4", "A4"), ("letter", "Letter")),
    "places": (("yes", "with the map and positions"), ("no", "without any place")),
}
LOOK = "How the document should look"
UNDER_EQUAL = (
    "The rides of one group should differ in nothing but chance; what else differed is listed with the answer."
)
STORE_TITLE = "Rides of the store"
STORE_LEAD = "As well as the rides above, or instead of them: every ride of the store that fits, both days included."
STORE_HEADS = ("Group", "Bike", "Group in the store", "From", "Until")
STORE_LABEL = "{what}, of the store for group {letter}"
ANY, ANY_SAID, NO_STORE_RIDES = "*", "any", "none"


def left_out(n_rides: int) -> str:
    """Rides of the visitor that cannot be chosen."""
    return f"{counted(n_rides, 'ride')} of yours cannot be chosen: not measured yet, or refused."
