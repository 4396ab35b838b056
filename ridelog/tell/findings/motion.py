"""Where speed, distance and height are from, and what was wrong with them."""

from collections.abc import Mapping

from ridelog.tell.findings.words import Stated, Template, case
from ridelog.tell.kinds import DISTANCE, HEIGHT, LENGTH, PERCENTAGE, SPEED
from ridelog.tell.numbers import Style, amount, converted, counted, signed, symbol, with_unit
from ridelog.tell.times import duration, elapsed

_SOURCES = {
    "wheel": "its wheel",
    "device": "its own record",
    "positions": "its positions",
    "distance": "its distance",
    "speed": "its speed",
}


def motion_sources(stated: Stated, _style: Style) -> str:
    """Which file speed and distance are taken from."""
    named = {
        what: f"{stated.text(f'{what}_file')} ({case(stated, f'{what}_source', _SOURCES)})"
        for what in ("speed", "distance")
        if f"{what}_file" in stated
    }
    if not named:
        stated.lacks("speed_file", "distance_file")
    first, *others = named
    also = "".join(f", {what} from {named[what]}" for what in others)
    return f"{first.capitalize()} is taken from {named[first]}{also}."


def speed_spike(stated: Stated, style: Style) -> str:
    """Speeds that a bike cannot reach so fast."""
    n = stated.count("n_samples")
    return (
        f"In {stated.text('file')}, {counted(n, 'speed sample', style=style)} {'was' if n == 1 else 'were'} left out "
        f"as impossible (up to {amount(stated.number('highest_mps'), SPEED, style)} at "
        f"{elapsed(stated.number('at_s'), style)}): no bike changes its speed that fast."
    )


def height_leaps(stated: Stated, style: Style) -> str:
    """Heights that jump as no road does."""
    n = stated.count("n_leaps")
    step_m = converted(stated.number("largest_step_m"), HEIGHT, style)
    at = elapsed(stated.number("at_s"), style)
    step = f"{with_unit(signed(step_m, 0, style), symbol(HEIGHT, style), style)} at {at}"
    how = f"by {step}" if n == 1 else f"{counted(n, 'time', style=style)}, the furthest by {step}"
    return (
        f"The height in {stated.text('file')} jumps {how}, as no road does. We took the jumps out, as if the road were "
        "level there; heights across them are less certain than their intervals say."
    )


def way_bridged(stated: Stated, style: Style) -> str:
    """The way across missing positions."""
    n, other_m = stated.count("n_gaps"), stated.maybe("other_m")
    by = f"; by wheel turns or speed it was {amount(other_m, DISTANCE, style)}" if other_m is not None else ""
    gone = "stay the same, or are missing," if stated.flag("held") else "are missing"
    return (
        f"The positions in {stated.text('file')} {gone} for {duration(stated.number('lasted_s'), style)} in "
        f"{'one place' if n == 1 else counted(n, 'place', style=style)}. We count the straight line across, "
        f"{amount(stated.number('straight_m'), DISTANCE, style)}{by}. The road itself, and any hills there, may be "
        "longer."
    )


def positions_held(stated: Stated, style: Style) -> str:
    """Positions that a log repeats until the next one comes."""
    usual_s, longest_s = stated.number("usual_s"), stated.number("longest_s")
    once = stated.count("n_new")
    longest = f", up to {duration(longest_s, style)}" if longest_s > 1.5 * usual_s else ""
    stay = f"{duration(usual_s, style)} at a time{longest}"
    return (
        f"The positions in {stated.text('file')} stay the same for {stay}, while the bike goes on. We use each of them "
        f"once, where it is new ({counted(once, 'position', style=style)}), and leave out the "
        f"{counted(stated.count('n_positions'), 'repetition', style=style)}."
    )


def stray_positions(stated: Stated, style: Style) -> str:
    """Single fixes far away, or jumps of all that follow."""
    file, first = stated.text("file"), elapsed(stated.number("first_s"), style)
    if "n_jumps" in stated:
        n = stated.count("n_jumps")
        return (
            f"The positions in {file} jump {'once' if n == 1 else counted(n, 'time', style=style)} farther than any "
            f"bicycle can ride in that time (first by {amount(stated.number('first_jump_m'), DISTANCE, style)} at "
            f"{first}). The way across is not counted."
        )
    n = stated.count("n_positions")
    lie, they, at = ("lies", "It is", f"at {first}") if n == 1 else ("lie", "They are", f"the first at {first}")
    return (
        f"In {file}, {counted(n, 'position', style=style)} {lie} far off the way ({at}). {they} not "
        "used for speed and distance."
    )


def speeds_disagree(stated: Stated, style: Style) -> str:
    """Two speeds."""
    off_pct = stated.number("off_pct")
    return (
        f"The speed in {stated.text('file')} is {amount(abs(off_pct), PERCENTAGE, style, decimals=0)} "
        f"{'higher' if off_pct > 0 else 'lower'} than in {stated.text('other_file')}. {_what_to_check(stated)}"
    )


def _what_to_check(stated: Stated) -> str:
    units = stated.text("unit_slip")
    if units == "none":
        return "Check that the wheel's circumference is set correctly in the device."
    return (
        f"That is the factor between {units}: check the unit of the speed, and give the right one in a column map. "
        "What needs a speed, such as the energy available from braking, is wrong until then."
    )


def distances_disagree(stated: Stated, style: Style) -> str:
    """Two distances."""
    off_pct = stated.number("off_pct")
    return (
        f"The distance counted in {stated.text('file')} is {amount(abs(off_pct), PERCENTAGE, style, decimals=0)} "
        f"{'longer' if off_pct > 0 else 'shorter'} than the way along the positions in {stated.text('other_file')}. We "
        "use the positions."
    )


def wheel_circumference_found(stated: Stated, style: Style) -> str:
    """A circumference that nobody entered."""
    found = amount(stated.number("wheel_circumference_m"), LENGTH, style)
    return (
        f"We worked out the wheel's circumference from {stated.text('file')}: {found}. Enter "
        "bike.wheel_circumference_m in the bike file if you know it more exactly."
    )


def wheel_circumference_unknown(stated: Stated, _style: Style) -> str:
    """Turns without a length."""
    return (
        f"The log {stated.text('file')} counts wheel turns, but not how far one turn goes. Enter "
        "bike.wheel_circumference_m in the bike file to use them."
    )


TEMPLATES: Mapping[str, Template] = {
    "motion-sources": motion_sources,
    "speed-spike": speed_spike,
    "height-leaps": height_leaps,
    "positions-held": positions_held,
    "way-bridged": way_bridged,
    "stray-positions": stray_positions,
    "speeds-disagree": speeds_disagree,
    "distances-disagree": distances_disagree,
    "wheel-circumference-found": wheel_circumference_found,
    "wheel-circumference-unknown": wheel_circumference_unknown,
}
