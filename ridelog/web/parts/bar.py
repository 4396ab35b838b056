"""How long the bars are that stand beside numbers, for the style sheet."""


def width(value: float, full: float = 100.0) -> dict[str, str]:
    """The style of a bar of which ``full`` is the whole length; never longer than that, and none below zero."""
    share_pct = 100 * min(max(value / full, 0.0), 1.0) if full > 0 else 0.0
    return {"width": f"{share_pct:.2f}%"}
