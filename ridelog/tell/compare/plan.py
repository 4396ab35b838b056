"""The plan of a campaign as a checklist of one page."""

from collections.abc import Iterator

from ridelog.compare.plan import USUAL_SHARE_PCT, Plan
from ridelog.lazy import dataclass
from ridelog.tell.kinds import PERCENTAGE, POINTS, TIME
from ridelog.tell.numbers import METRIC, Style, amount, count, counted, fixed
from ridelog.tell.table import Column, Table
from ridelog.tell.times import duration

CANCELS = "What one logger errs on both settings cancels: use the same one on the same bike."
HELD_AGAINST = "A verdict is held against 1.25 %, as a comparison corrects for the four differences that it looks at."
LEAST_OWN = 0.01  # of the spread: less of it is next to nothing
BAR_CELLS = 20
BLOCK = "A B B A"
KEEP = (
    "The same route in the same direction, the same stops where you can choose.",
    "The same rider, clothes, load and tyre pressure; weigh bike, rider and load.",
    "The same charge at the start: regen gives less with a full pack.",
    "The same target speed and the same way of braking; the same assist.",
    "Rides of one block close together, on days of like wind and temperature.",
)
WRITE_DOWN = (
    "Which setting it was, before you ride: a folder for each (weak/…, strong/…).",
    "Wind, air temperature, and wet or dry road.",
    "Mass, tyre pressure, charge at the start and at the end.",
    "Anything odd: a detour, a long stop, a puncture, a brake that rubbed.",
)
CAUTIONS = (
    "Regen never replaces two independent friction brakes: it fades at low speed and can vanish at once.",
    "Ride as traffic and the road allow, not as the plan wants it. A ride spoilt is a ride repeated.",
    "The limits of the pack's maker hold. Do not start downhill with a full pack, and do not bypass or adjust the BMS.",
    "Work on pack, controller or brakes is for a qualified technician. Local rules apply.",
)


@dataclass(frozen=True)
class Part:
    """A heading, and what is to be done under it; ``boxes`` : each line is to be ticked."""

    heading: str
    lines: tuple[str, ...]
    boxes: bool = True


def headline(plan: Plan, style: Style = METRIC) -> str:
    """How many rides, in a sentence."""
    wanted = amount(plan.difference, POINTS, style, digits=2)
    if plan.pairs is None:
        return f"More than 1,000 rides of each setting would be needed to tell {wanted}: look for a larger difference."
    return (
        f"{count(plan.pairs, style)} rides of each setting tell a difference of {wanted} 80 times of 100, if there is "
        "one that large."
    )


def parts(plan: Plan, style: Style = METRIC) -> Iterator[Part]:
    """The checklist.

    Parameters
    ----------
    plan : of a campaign
    style : units, digits and separators

    Yields
    ------
    A part each, in the order of the campaign.
    """
    yield Part("What this rests on", tuple(_basis(plan, style)), boxes=False)
    if plan.pairs is not None:
        blocks = plan.pairs // 2
        each = "once" if blocks == 1 else f"{blocks} times"
        yield Part(
            "Order",
            (
                f"{BLOCK}, {each}: A is one setting, B the other; draw lots for which is A.",
                "Do not stop early because it looks clear, nor go on because it does not: the number is fixed before.",
            ),
        )
    yield Part("Keep the same", KEEP)
    yield Part("Log", tuple(_log(plan, style)))
    yield Part("Write down", WRITE_DOWN)
    yield Part("Cautions", CAUTIONS, boxes=False)


def _basis(plan: Plan, style: Style) -> Iterator[str]:
    spread = amount(plan.spread, POINTS, style, digits=2)
    if plan.recovered_pct is None:
        yield (
            f"No ride so far, so a usual spread from ride to ride of {spread} is assumed: a tenth of "
            f"{amount(USUAL_SHARE_PCT, PERCENTAGE, style, digits=1)} recovered. Plan again after the first block."
        )
        yield f"{CANCELS} {HELD_AGAINST}"
        return
    share = amount(plan.recovered_pct, PERCENTAGE, style, digits=2)
    rides = counted(plan.rides, "ride", style=style)
    if plan.spread_assumed:
        yield (
            f"{rides} so far, {share} recovered: too few to show how "
            f"rides differ. A usual spread of {spread} is assumed; plan again after the first block."
        )
    else:
        yield (
            f"{rides} of the route so far, {share} recovered; from ride to ride it differs by {spread} (standard "
            "deviation)."
        )
    if plan.pairs_high is not None and plan.spread_high is not None and plan.pairs_high != plan.pairs:
        high = amount(plan.spread_high, POINTS, style, digits=2)
        yield (
            f"So few rides may show too small a spread: it may be up to {high} (80 % confidence), which would take "
            f"{count(plan.pairs_high, style)} rides of each."
        )
    own = amount(plan.own_u, POINTS, style, digits=1) if plan.own_u >= LEAST_OWN * plan.spread else "next to nothing"
    yield f"Each ride's own measurement makes {own} of that. {CANCELS}"
    yield HELD_AGAINST


def _log(plan: Plan, style: Style) -> Iterator[str]:
    if plan.stand_s is not None and plan.stand_s_so_far is not None:
        so_far = duration(plan.stand_s_so_far, style)
        yield f"Stand still at the start for {duration(plan.stand_s, style)}, switched on (so far {so_far} in all)."
    else:
        why = ": the log so far shows no rest" if plan.rides else ""
        yield f"Stand still at the start for 1 min, switched on{why}."
    if not plan.standby_known:
        yield "Enter `standby_draw_a` in the bike file: without it, standing does not tell the current's zero."
    if not plan.rides:
        yield "Current and voltage of the battery, and speed, a sample every second or faster."
    if plan.log_every_s is not None and plan.logged_every_s is not None:
        wanted, now = (amount(each, TIME, style, digits=2) for each in (plan.log_every_s, plan.logged_every_s))
        if plan.log_every_s >= plan.logged_every_s:
            yield f"One sample every {now}, as so far, is often enough (up to {wanted} would be)."
        else:
            yield f"One sample every {wanted} or faster: so far every {now}, which hides too much."
    yield "Wall time in every log, and a track with positions: rides are paired by route."
    drag = "Drag area and rolling resistance are assumed; one" if plan.drag_assumed else "One"
    yield (
        f"No coast-down is needed: both settings share the drag. {drag} narrows what was captured, not the difference "
        "in what was recovered."
    )


def curve(plan: Plan, style: Style = METRIC) -> Table:
    """How often the difference would be told, by the number of rides.

    Parameters
    ----------
    plan : of a campaign
    style : digits

    Returns
    -------
    One row a number of rides, with a bar.
    """
    columns = (
        Column("rides", "Rides of each"),
        Column("power", "Told, of 100", align="right"),
        Column("bar", "", align="left"),
        Column("wider", "If rides differ more", align="right"),
    )
    rows = tuple(
        (
            chance.pairs, fixed(100 * chance.power, 0, style), "█" * round(BAR_CELLS * chance.power),
            None if chance.if_wider is None else fixed(100 * chance.if_wider, 0, style),
        )
        for chance in plan.curve
    )  # fmt: skip
    wanted = amount(plan.difference, POINTS, style, digits=2)
    return Table("power", f"How often a difference of {wanted} would be told", columns, rows)
