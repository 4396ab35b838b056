"""What limits a coast-down, and how a better one is made."""

from collections.abc import Mapping

from ridelog.tell.findings.braking import assumed_of_the_road
from ridelog.tell.findings.words import Stated, Template, listed, trimmed
from ridelog.tell.kinds import SPEED, TIME
from ridelog.tell.numbers import Style, between, counted
from ridelog.tell.times import duration


def how_to(style: Style) -> str:
    """How to ride a good coast-down."""
    fast, slow = (30, 10) if style.units == "metric" else (20, 6)
    unit = "km/h" if style.units == "metric" else "mph"
    return (
        f"Roll out from about {fast} to {slow} {unit} on a level, straight road, three times each way, in still air, "
        "with the motor off and without pedalling, sitting as you usually do; only where it is allowed and nobody "
        "else is about, with your hands on the brakes."
    )


def coasting_short(stated: Stated, style: Style) -> str:
    """Too little for any figures."""
    n = stated.count("n_stretches")
    if not n:
        only = "" if stated.flag("motor_seen") else " (without a current that could show regen, only a roll-out counts)"
        least = trimmed(stated.number("shortest_s"), TIME, style)
        return f"The ride holds no stretch of coasting of at least {least}{only}. {how_to(style)}"
    speeds = between(stated.number("slowest_mps"), stated.number("fastest_mps"), SPEED, style, digits=2)
    longest = "" if n == 1 else f", the longest {duration(stated.number('longest_s'), style)}"
    return (
        f"The ride holds {counted(n, 'stretch', 'stretches', style=style)} of coasting, "
        f"{duration(stated.number('lasted_s'), style)} in all{longest}, at {speeds}. Either that is too little to tell "
        "air resistance from rolling resistance, or something else was slowing the bike (a slope that no height shows, "
        f"a brake, pedals, a gale), because no bicycle slows like that. {how_to(style)}"
    )


def coasting_left_out(stated: Stated, style: Style) -> str:
    """Stretches that did not fit in."""
    n = stated.count("n_left_out")
    were = "was" if n == 1 else "were"
    return (
        f"We left out {counted(n, 'stretch', 'stretches', style=style)} of coasting, which {were} too short beside the "
        "others or did not slow down as a coasting bike does."
    )


def coastdown_vague(stated: Stated, style: Style) -> str:
    """Less sure than the defaults."""
    usual = listed(assumed_of_the_road(stated, style))
    return f"This coast-down tells less than what we assume of bikes anyway: {usual}. {how_to(style)}"


def coastdown_one_way(stated: Stated, _style: Style) -> str:
    """Wind and grade remain."""
    if stated.flag("positions_logged"):
        return "No road was coasted in both directions, so wind and grade do not cancel out; they widen the intervals."
    return (
        "No positions are logged, so we cannot say which runs went in opposite directions; wind and grade widen the "
        "intervals."
    )


def motor_drag_inside(_stated: Stated, _style: Style) -> str:
    """Two drags that look alike."""
    return (
        "Rolling resistance and a constant drag of the motor slow a bike in the same way, so this Crr includes both. "
        "To separate them, coast again with the motor's wheel swapped for one that freewheels, or time how a wheel in "
        "the air spins down (torque = moment of inertia × loss of turning speed per second), and enter "
        "road.motor_drag_n."
    )


def motor_unseen(_stated: Stated, _style: Style) -> str:
    """No current that shows the motor."""
    return "No battery current that could show regen is logged, so only the speed suggests that the motor was off."


def pedalling_unseen(_stated: Stated, _style: Style) -> str:
    """Neither cadence nor power."""
    return "Neither cadence nor rider power is logged, so pedalling with the motor off would go unnoticed here."


TEMPLATES: Mapping[str, Template] = {
    "coasting-short": coasting_short,
    "coasting-left-out": coasting_left_out,
    "coastdown-vague": coastdown_vague,
    "coastdown-one-way": coastdown_one_way,
    "motor-drag-inside": motor_drag_inside,
    "motor-unseen": motor_unseen,
    "pedalling-unseen": pedalling_unseen,
}
