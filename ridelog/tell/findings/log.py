"""What the electrical log shows, and what it does not."""

from collections.abc import Mapping

from ridelog.tell.findings.words import (
    Stated,
    Template,
    case,
    give_or_take,
    in_stretches,
    sentences,
    trimmed,
)
from ridelog.tell.kinds import CHARGE, CURRENT, ENERGY, HEIGHT, PERCENTAGE, RATIO, SPEED, TIME, VOLTAGE
from ridelog.tell.numbers import Style, amount, count, counted, signed, with_unit
from ridelog.tell.times import duration, elapsed

NOT_KNOWN = "so we cannot say how much came back; that does not mean 0 %"


def cannot_show_return(stated: Stated, style: Style) -> str:
    """Unsigned by its own words, or without a single negative value."""
    file = stated.text("file")
    if stated.flag("unsigned"):
        return f"The current in {file} has no sign, {NOT_KNOWN}."
    zero = amount(stated.number("zero_pct"), PERCENTAGE, style, decimals=0)
    zeros = "" if zero == amount(0.0, PERCENTAGE, style, decimals=0) else f", and {zero} of its samples are exactly 0"
    return (
        f"No current into the battery shows anywhere in {file}{zeros}. A logger that clips at zero or drops the sign "
        f"looks just like a ride without regen, {NOT_KNOWN}. If the log does carry a sign, write `signed = true` under "
        "[log] in a column map."
    )


def flow_while_braked(stated: Stated, style: Style) -> str:
    """A log that drops the sign."""
    flowed_wh, flowed_ah = stated.maybe("flowed_wh"), stated.maybe("flowed_ah")
    flowed = amount(flowed_ah, CHARGE, style) if flowed_wh is None else amount(flowed_wh, ENERGY, style)
    told = (
        f"While the bike was braked or held back, {flowed} flowed, and the log does not say which way: it probably "
        "drops the sign of a current that came back."
    )
    if stated.flag("bounded"):
        return f"{told} What was drawn may be that much less; its interval covers both."
    return (
        f"{told} Without heights we do not know where else that was so: what we give as drawn is all that flowed, "
        "the most that can have been drawn."
    )


def nothing_returned(stated: Stated, _style: Style) -> str:
    """Regen that is off, or dead."""
    return (
        f"No sample of {stated.text('file')} shows current into the battery, although the log could show it: nothing "
        "came back on this ride. Either there was no braking by regen, or regen is switched off or does not work. The "
        "interval covers what the log may have missed."
    )


def why_no_flow(stated: Stated, style: Style) -> str:
    """Why nothing can be counted: there is no column of battery current or power, or it holds too little."""
    if stated.maybe("n_values") is None:
        return "no file holds battery current or battery power"
    n = stated.count("n_values")
    column = f"the column “{stated.text('column')}” in {stated.text('file')}"
    if n == 0:
        return f"{column} holds no values"
    if n == 1:
        return f"{column} holds only one value, and it takes at least two"
    return f"the {count(n, style)} values of {column} cannot be used"


def no_battery_current(stated: Stated, style: Style) -> str:
    """Nothing to measure."""
    why = why_no_flow(stated, style)
    return f"{why[0].upper()}{why[1:]}, so we cannot say what was drawn or what came back."


def motor_current_only(stated: Stated, _style: Style) -> str:
    """Motor current is not battery current."""
    return (
        f"The only current in {stated.text('file')} is the motor's. The battery's current is a different one (the "
        "controller steps it up for the motor), so we cannot work out the charge from it."
    )


def no_current(stated: Stated, _style: Style) -> str:
    """Power alone."""
    return f"Battery power is logged in {stated.text('file')} but current is not, so we know Wh but not Ah."


def no_voltage(stated: Stated, _style: Style) -> str:
    """Current alone."""
    return f"Battery current is logged in {stated.text('file')} but voltage is not, so we know Ah but not Wh."


def voltage_of_cells(stated: Stated, style: Style) -> str:
    """Cells added up."""
    n = count(stated.count("n_cells"), style)
    told = (
        f"{stated.text('file')} logs no battery voltage, so we added up its {n} cells in series. What wires and "
        "protection take on the way to the terminals is not in it."
    )
    if stated.flag("cells_in_series_given"):
        return told
    return f"{told} If your pack has more than {n} in series, enter `cells_in_series` in the bike file."


def counters_alone(stated: Stated, style: Style) -> str:
    """Totals that nothing confirms."""
    told = [
        f"{amount(drawn, kind, style, digits=3)} drawn and {amount(returned, kind, style, digits=3)} returned"
        for kind, unit in ((CHARGE, "ah"), (ENERGY, "wh"))
        if (drawn := stated.maybe(f"drawn_{unit}")) is not None
        and (returned := stated.maybe(f"returned_{unit}")) is not None
    ]
    share = amount(stated.number("share_pct"), PERCENTAGE, style, digits=2)
    return (
        f"By its own counters {stated.text('file')} has {' and '.join(told)}, which would be {share}. We have no "
        "current to check them by, and do not know how the device counts: so we give no interval."
    )


def gaps(stated: Stated, style: Style) -> str:
    """How much is missing, and what was put there."""
    missing_s, bridge_s = stated.number("missing_s"), stated.number("longest_bridge_s")
    longer = (
        f"the longer ones, {duration(missing_s, style)} in all, count as no current"
        if missing_s > 0
        else "there are no longer ones"
    )
    return (
        f"{amount(stated.number('uncovered_pct'), PERCENTAGE, style, decimals=1)} of the electrical log's time is "
        f"missing. Gaps of up to {trimmed(bridge_s, TIME, style)} are bridged in line with the rest of the ride; "
        f"{longer}. The intervals allow for what may have flowed."
    )


def current_at_rest(stated: Stated, style: Style) -> str:
    """The reading at rest, and how far it is zero error."""
    file, reading_a = stated.text("file"), stated.maybe("reading_a")
    step_a = stated.maybe("resolution_a")
    steps = f", steps of {trimmed(step_a, CURRENT, style)}" if step_a else ""
    noise = f"noise {amount(stated.number('noise_a'), CURRENT, style, digits=2)}{steps}"
    if reading_a is None:
        return (
            f"In {file} the bike never rests long enough to show what the current reads at rest ({noise}). Let it "
            "stand for 30 s with everything switched on, at the start or the end of a ride."
        )
    how = "standing still" if stated.flag("standing") else "small and steady current"
    told = (
        f"At rest, {file} reads {amount(reading_a, CURRENT, style, decimals=2)} "
        f"({duration(stated.number('rest_s'), style)} of {how}, {noise})."
    )
    return f"{told} {_zero(stated, style)}"


def _zero(stated: Stated, style: Style, *, shown_a: float = 0.005) -> str:
    standby_a, off_a = stated.maybe("standby_draw_a"), stated.maybe("zero_error_a")
    if standby_a is None or off_a is None:
        return (
            "We cannot say how much of that is zero error and how much is standby draw: enter standby_draw_a under "
            "[sensor] in the bike file, and the intervals get narrower."
        )
    off = (
        f"off by {with_unit(signed(off_a, 2, style), 'A', style)}"
        if abs(off_a) >= shown_a
        else f"right to {trimmed(2 * shown_a, CURRENT, style)}"
    )
    return f"With the standby draw of {trimmed(standby_a, CURRENT, style)} from the bike file, its zero is {off}."


def zero_beyond_limit(stated: Stated, style: Style) -> str:
    """A reading that limit and standby draw do not explain."""
    low_a, high_a = stated.number("standby_low_a"), stated.number("standby_high_a")
    given, entered = stated.flag("zero_limit_given"), stated.flag("standby_given")
    draw = trimmed(high_a, CURRENT, style) if low_a == high_a else f"up to {trimmed(high_a, CURRENT, style)}"
    both = "Either the zero or the bike file is wrong, and the interval allows for both. " if entered else ""
    limit = f"{give_or_take(stated.number('zero_limit_a'), CURRENT, style)}{' (the limit in the bike file)' * given}"
    do = "correct `standby_draw_a`" if entered else "enter `standby_draw_a` under [sensor] in the bike file"
    return (
        f"At rest, {stated.text('file')} reads {amount(stated.number('reading_a'), CURRENT, style, decimals=2)}. That "
        f"does not fit a standby draw of {draw}{' (from the bike file)' if entered else ''} and a zero error of "
        f"{limit}. {both}Set the sensor's zero again with nothing connected to it"
        f"{f', {do}, or correct `current_zero_limit_a`' if given else f', or {do}'}."
    )


def current_ends(stated: Stated, style: Style) -> str:
    """The current is known over a part of the log only."""
    what = case(stated, "channel", {"current_a": "the battery current", "power_w": "the battery power"})
    begin, end, whole = (elapsed(stated.number(name), style) for name in ("from_s", "to_s", "whole_s"))
    return (
        f"In {stated.text('file')}, {what} is logged only from {begin} to {end} of {whole}. Everything here, distance "
        "included, is of that part."
    )


def current_saturated(stated: Stated, style: Style) -> str:
    """A limit of the drive, or the end of what the sensor can read."""
    current_a, shown_by = stated.number("current_a"), stated.text("shown_by")
    way, total = ("out of", "drawn") if current_a > 0 else ("into", "returned")
    told = (
        f"In {amount(stated.number('share_pct'), PERCENTAGE, style, decimals=1)} of the samples in "
        f"{stated.text('file')} the current sits at {trimmed(abs(current_a), CURRENT, style)}, its highest "
        f"value {way} the battery."
    )
    if stated.text("verdict") == "range":
        why = "the sensor's noise is gone there" if shown_by == "noise" else "the voltage keeps moving meanwhile"
        return (
            f"{told} As {why}, more current flowed than the sensor or the log could show, and the amount {total} is "
            "too low. Use a sensor or a log setting with a wider range."
        )
    alike = "A controller's limit and the end of a sensor's range look alike"
    if stated.text("verdict") == "limit":
        return f"{told} {alike}; here the voltage stops moving as well, which points to the controller's limit."
    return (
        f"{told} {alike}, and nothing in this log tells them apart. If it is the sensor's range, the amount {total} is "
        "too low. Compare the value with the limit set in the controller."
    )


_STUCK = {
    "current_a": ("current", CURRENT, "What really flowed then is not in the totals."),
    "voltage_v": ("voltage", VOLTAGE, "Wh for that time use this voltage; Ah are not affected."),
    "speed_mps": ("speed", SPEED, "Stops, braking and distance are wrong for that time."),
}


def channel_stuck(stated: Stated, style: Style) -> str:
    """A channel that repeats itself."""
    name, kind, harm = _STUCK[stated.text("channel")]
    value = trimmed(stated.number(stated.text("channel")), kind, style)
    first = "" if stated.count("n_stretches") == 1 else "first "
    return (
        f"The {name} in {stated.text('file')} is stuck ({first}at {value}) for {in_stretches(stated)}, while other "
        f"channels change. {harm} Check the sensor's plug and cable."
    )


def values_held(stated: Stated, style: Style) -> str:
    """A quantity that is read anew less often than rows are written."""
    name = {"current_a": "current", "voltage_v": "voltage", "power_w": "power"}[stated.text("channel")]
    row_s, stands_s = (amount(stated.number(key), TIME, style, digits=2) for key in ("row_s", "stands_s"))
    return (
        f"{stated.text('file')} has a row every {row_s}, but its {name} is read anew only every {stands_s}. We count "
        "each reading once, where it is new; the interval covers what may have happened in between."
    )


def voltage_without_sag(stated: Stated, _style: Style) -> str:
    """A voltage that is none."""
    return (
        f"The voltage in {stated.text('file')} does not respond to the current, as if it were a setting or came from a "
        "state-of-charge table. Wh then miss the voltage sag while riding and the rise while braking, so the share "
        "recovered comes out too low in Wh. Trust the share in Ah, or log the voltage at the battery's terminals."
    )


def step_too_long(stated: Stated, style: Style) -> str:
    """Too few samples in a braking event."""
    step = trimmed(stated.number("step_s"), TIME, style, digits=3)
    advised = f"Log every {trimmed(stated.number('advised_step_s'), TIME, style)} or faster."
    if not stated.flag("available_known"):
        return (
            f"{stated.text('file')} has one sample every {step}: stops fall between them, so we cannot say how much "
            f"energy braking had available, or how much of it was captured. {advised}"
        )
    return (
        f"Half of the {stated.count('n_events')} braking events in {stated.text('file')} have no more than "
        f"{trimmed(stated.number('median_samples'), RATIO, style)} samples (one every {step}; the median event lasts "
        f"{trimmed(stated.number('median_event_s'), TIME, style, digits=2)}). This "
        f"averages out in the totals, but not in single events and hills. {advised}"
    )


_COUNTERS = {"drawn": "drawn", "returned": "returned", "net": "drawn minus returned"}


def _counters(stated: Stated, style: Style) -> str:
    parts = []
    for unit, kind in (("ah", CHARGE), ("wh", ENERGY)):
        for which, name in _COUNTERS.items():
            if f"{which}_counter_{unit}" not in stated:
                continue
            counter, samples = (stated.number(f"{which}_{by}_{unit}") for by in ("counter", "samples"))
            off_pct = stated.maybe(f"{which}_{unit}_off_pct")
            off = f" ({with_unit(signed(off_pct, 1, style), '%', style)})" if off_pct is not None else ""
            parts.append(
                f"{name} {amount(counter, kind, style, digits=4)} by the counter, "
                f"{amount(samples, kind, style, digits=4)} by the samples{off}"
            )
    n = stated.count("n_breaks")
    breaks = f" ({counted(n, 'reset or jump', 'resets or jumps', style=style)} of the counter left out)" if n else ""
    return "; ".join(parts) + breaks


def counters_agree(stated: Stated, style: Style) -> str:
    """Counters that match."""
    return f"The counters in {stated.text('file')} match its samples: {_counters(stated, style)}."


def counters_disagree(stated: Stated, style: Style) -> str:
    """Counters that do not match, or count something else."""
    if stated.flag("counts_net"):
        return (
            f"The counter called “drawn” in {stated.text('file')} counts drawn minus returned: "
            f"{_counters(stated, style)}. Nothing is wrong with the samples; read that counter as net."
        )
    return (
        f"The counters in {stated.text('file')} do not match its samples: {_counters(stated, style)}. Either the "
        "counters count something else, or current between the samples was missed, or the current's unit or zero is "
        "wrong. We used the samples; log faster, and check the current against a meter."
    )


def charging_while_standing(stated: Stated, style: Style) -> str:
    """A charger."""
    return (
        f"In {stated.text('file')}, {amount(stated.number('charge_ah'), CHARGE, style, decimals=2)} went into the "
        f"battery while the bike stood still for {in_stretches(stated)}: a charger, not braking. We do not count it as "
        "returned."
    )


def charge_without_braking(stated: Stated, style: Style) -> str:
    """Another source, or a wrong sign."""
    return (
        f"In {stated.text('file')}, {amount(stated.number('charge_ah'), CHARGE, style, decimals=3)} went into the "
        f"battery during {in_stretches(stated)} in which the bike kept its speed on a level or rising road. That is "
        "not braking: there is another source (a solar panel, a generator, pedalling against the motor), or the "
        "current has the wrong sign."
    )


def return_without_regen(stated: Stated, style: Style) -> str:
    """A return that the motor cannot have given."""
    shown = (
        amount(stated.number("returned_wh"), ENERGY, style)
        if "returned_wh" in stated
        else amount(stated.number("returned_ah"), CHARGE, style)
    )
    return (
        f"The log shows {shown} going into the battery, but a {stated.text('motor_kind')} motor cannot return "
        "anything: there is a freewheel between it and the wheel. So this is not regen. Check the sign of the "
        "current, whether the column is the battery's current, the sensor's zero, and whether a charger or a solar "
        "panel was connected; or correct motor.kind in the bike file."
    )


def recovered_unusually_high(stated: Stated, style: Style) -> str:
    """More than usual."""
    share = amount(stated.number("recovered_pct"), PERCENTAGE, style)
    came_back = (
        f"{share} came back: more than was drawn."
        if stated.flag("beyond_drawn")
        else f"{share} came back. That is far above the {trimmed(stated.number('usual_pct'), PERCENTAGE, style)} that "
        "ordinary rides rarely exceed (common practice, no published figure)."
    )
    return sentences((came_back, _why_so_high(stated, style)))


def _why_so_high(stated: Stated, style: Style) -> str:
    """What may explain a share far above the usual."""
    lower_m = stated.maybe("lower_m")
    doubt = (
        "If it was not mostly downhill, the sign in the column map is the first thing to check."
        if stated.flag("sign_by_map")
        else "A mostly downhill ride can do that; if yours was not, check the sign of the current and whether a "
        "charger was connected."
    )
    if lower_m is None:
        return doubt
    return (
        f"The ride ends {amount(lower_m, HEIGHT, style, digits=2)} lower than it starts, which may explain it: the way "
        "back up is missing."
    )


TEMPLATES: Mapping[str, Template] = {
    "cannot-show-return": cannot_show_return,
    "nothing-returned": nothing_returned,
    "flow-while-braked": flow_while_braked,
    "no-battery-current": no_battery_current,
    "motor-current-only": motor_current_only,
    "no-current": no_current,
    "no-voltage": no_voltage,
    "voltage-of-cells": voltage_of_cells,
    "counters-alone": counters_alone,
    "gaps": gaps,
    "current-at-rest": current_at_rest,
    "zero-beyond-limit": zero_beyond_limit,
    "current-ends": current_ends,
    "current-saturated": current_saturated,
    "channel-stuck": channel_stuck,
    "values-held": values_held,
    "voltage-without-sag": voltage_without_sag,
    "step-too-long": step_too_long,
    "counters-agree": counters_agree,
    "counters-disagree": counters_disagree,
    "charging-while-standing": charging_while_standing,
    "charge-without-braking": charge_without_braking,
    "return-without-regen": return_without_regen,
    "recovered-unusually-high": recovered_unusually_high,
}
